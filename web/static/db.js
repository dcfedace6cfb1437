// What this phone holds: entries with their state, and a few kept things (the
// sheet of each facility, the settings, the id of the phone). The draft lies in
// the local storage, which is written before the next touch can come.

const version = 1;

function asked(request) {
  return new Promise((done, fail) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
}

function ended(tx) {
  return new Promise((done, fail) => {
    tx.oncomplete = () => done();
    tx.onabort = () => fail(tx.error ?? new Error('the phone broke off the saving'));
    tx.onerror = () => fail(tx.error);
  });
}

function open() {
  const request = indexedDB.open('haulout', version);
  request.onupgradeneeded = () => {
    const entries = request.result.createObjectStore('entries', { keyPath: 'id' });
    entries.createIndex('state', 'state');
    request.result.createObjectStore('kept');
  };
  return asked(request);
}

let opened;
const db = () => (opened ??= open());

/** A writing transaction that is on the disk before it is called complete. */
async function writing(store) {
  return (await db()).transaction(store, 'readwrite', { durability: 'strict' });
}

/** Saves entries and reads them back; only then is it true that they are saved. */
export async function putEntries(list) {
  const tx = await writing('entries');
  for (const entry of list) tx.objectStore('entries').put(entry);
  await ended(tx);
  const store = (await db()).transaction('entries').objectStore('entries');
  const back = await Promise.all(list.map((entry) => asked(store.get(entry.id))));
  list.forEach((entry, i) => {
    if (JSON.stringify(back[i]) !== JSON.stringify(entry)) throw new Error('the phone gave back something else than was saved');
  });
}

export async function allEntries() {
  return asked((await db()).transaction('entries').objectStore('entries').getAll());
}

/** Removes an entry if it still is as the caller believes; says whether it was. */
export async function removeEntry(id, still) {
  const tx = await writing('entries');
  const store = tx.objectStore('entries');
  const entry = await asked(store.get(id));
  const go = entry !== undefined && still(entry);
  if (go) store.delete(id);
  await ended(tx);
  return go;
}

export async function keep(key, value) {
  const tx = await writing('kept');
  tx.objectStore('kept').put(value, key);
  await ended(tx);
}

export async function kept(key) {
  return asked((await db()).transaction('kept').objectStore('kept').get(key));
}

export async function dropKept(key) {
  const tx = await writing('kept');
  tx.objectStore('kept').delete(key);
  await ended(tx);
}

/** The keys of kept things that begin with a word. */
export async function keptKeys(start) {
  return asked((await db()).transaction('kept').objectStore('kept').getAllKeys(IDBKeyRange.bound(start, `${start}\uffff`)));
}

export function keepDraft(draft) {
  try {
    localStorage.setItem('haulout draft', JSON.stringify(draft));
  } catch { /* no room: the draft is lost with the page, entries are not */ }
}

export function keptDraft() {
  try {
    return JSON.parse(localStorage.getItem('haulout draft')) ?? {};
  } catch {
    return {};
  }
}
