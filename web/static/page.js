// On every page but the Deck: signing out says first what still waits on this
// phone. Nothing is lost by it; entries are sent when their keeper signs in.

/** How many entries of this phone have no receipt yet. */
function waiting() {
  return new Promise((done) => {
    const open = indexedDB.open('haulout');
    open.onupgradeneeded = () => open.transaction.abort(); // no Deck was here yet
    open.onerror = () => done(0);
    open.onsuccess = () => {
      const db = open.result;
      if (!db.objectStoreNames.contains('entries')) return done(0);
      const ask = db.transaction('entries').objectStore('entries').index('state').count('waiting');
      ask.onsuccess = () => { db.close(); done(ask.result); };
      ask.onerror = () => done(0);
    };
  });
}

const form = document.querySelector('#sign-out');
let told = false;

form?.addEventListener('submit', async (e) => {
  if (told) return;
  e.preventDefault();
  told = true;
  const n = await waiting();
  if (n === 0) return form.submit();
  form.querySelector('.waits').textContent = `${n} ${n === 1 ? 'entry waits' : 'entries wait'} on this phone. They stay here and are sent when you sign in again. Press again to sign out.`;
});
