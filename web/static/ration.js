// Sets the proposed ration. The fact goes the Deck's way: it is saved on this
// phone first and leaves it when the server has given its receipt.

import { $ } from './dom.js';
import { uuid7 } from './fact.js';
import { Queue } from './queue.js';

const form = $('#set-ration'); // not there for those who may only read
const { kind, facility, by, body } = form?.dataset ?? {};
const sheet = { offset: 0, visitor: { name: by }, fresh: true, trouble: '', refresh: async () => true };
const queue = new Queue(sheet);
let id = '';

function say(state, text) {
  const said = $('.said', form);
  said.dataset.state = state;
  if (said.textContent !== text) said.textContent = text;
}

async function save() {
  const reason = $('#reason').value.trim();
  if (!reason) return say('needs-you', 'Give the reason; it stays with the ration.');
  const data = { ...JSON.parse(body), reason };
  const fact = { id: uuid7(), type: kind, time: new Date().toISOString(), facility, data };
  id = fact.id;
  try {
    await queue.save(fact, { by, animals: [data.animal], text: 'Ration' });
    queue.again(id); // at once: a form has no Undo to wait for
  } catch {
    id = '';
    return say('needs-you', 'This phone could not save it. Try again; the form still holds it.');
  }
  return show();
}

/** Says where the entry stands. */
function show() {
  const entry = queue.entries.get(id);
  if (!entry) return;
  if (entry.state === 'recorded') {
    say('recorded', `At the server, entry ${entry.receipt.number}. It holds from now on.`);
  } else if (entry.state === 'refused') {
    say('needs-you', `${entry.problem.title}. ${entry.problem.detail} Nothing was recorded.`);
    queue.aside(id);
    id = '';
  } else {
    say('waiting', queue.trouble ? 'Saved on this phone; it is sent when the server can be reached.' : 'Saved on this phone.');
  }
  $('button', form).disabled = id !== '';
}

async function follow() {
  form.noValidate = true;
  form.addEventListener('submit', (e) => {
    e.preventDefault();
    if (!id) save();
  });
  queue.addEventListener('change', show);
  await queue.start();
  queue.send();
  addEventListener('online', () => queue.send());
  setInterval(() => queue.send(), 15_000);
  form.dataset.ready = '';
}

if (form) follow();
