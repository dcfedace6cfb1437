// Forms that each make one fact: what the fish room really used, the ration that
// is set. The fact goes the Deck's way: it is saved on this phone first and
// leaves it when the server has given its receipt, so a line that is down loses
// nothing. What a page has worked out itself stands in a form's data-body.

import { $, $$ } from './dom.js';
import { decimal, uuid7 } from './fact.js';
import { Queue } from './queue.js';

const place = $('#write-back'); // not there for those who may only read
const { facility, zone, by } = place?.dataset ?? {};

/** The queue asks its sheet who is looking and how the clock goes. */
const sheet = { offset: 0, visitor: { name: by }, fresh: true, trouble: '', refresh: async () => true };
const queue = new Queue(sheet);
const saved = new Map(); // form → id of the entry it made last

/** The moment of a time as a clock in the zone shows it. */
function instant(wall, timeZone) {
  const asUTC = Date.parse(`${wall}Z`);
  const shown = (at) => {
    const part = Object.fromEntries(new Intl.DateTimeFormat('en-CA', { timeZone, hourCycle: 'h23', year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit' }).formatToParts(at).map((p) => [p.type, p.value]));
    return Date.parse(`${part.year}-${part.month}-${part.day}T${part.hour}:${part.minute}Z`);
  };
  const once = asUTC - (shown(asUTC) - asUTC);
  return new Date(once - (shown(once) - asUTC));
}

function numberOf(input, value) {
  const number = decimal(value);
  if (number === '') throw new Error(`${input.labels[0].textContent} is "${value}"; write a number such as ${'count' in input.dataset ? '2' : '12.5'}.`);
  return number;
}

/** A result as a laboratory writes it: 7.9, −1.2, <1, >2419, or TNTC, too
    numerous to count, which says only that it is above nothing. '' is none. */
function result(text) {
  if (/^tntc$/i.test(text)) return { value: '0', bound: 'above' };
  const bound = { '<': 'below', '>': 'above' }[text[0]];
  const rest = bound ? text.slice(1) : text;
  const minus = /^\s*[-−]/.test(rest) ? '-' : '';
  const value = decimal(rest.replace(/^\s*[-−]/, ''));
  if (value === '') return '';
  return bound ? { value: minus + value, bound } : { value: minus + value };
}

/** What a form says, as the body of a fact; it throws what is wrong in words. */
function bodyOf(form) {
  const out = JSON.parse(form.dataset.body ?? '{}');
  for (const input of $$('[name]', form)) {
    const value = input.value.trim();
    if (input.type === 'checkbox') {
      if (input.checked) out[input.name] = true;
    } else if (value === '') {
      if (input.required) throw new Error(`${input.labels[0].textContent} is missing.`);
    } else if (input.dataset.reading) {
      const read = result(value);
      if (read === '') throw new Error(`${input.labels[0].textContent} is "${value}"; write a number, <1, >2419 or TNTC.`);
      (out.readings ??= []).push({ what: input.dataset.reading, value: { value: read.value, unit: input.dataset.unit }, ...(read.bound && { bound: read.bound }) });
    } else if (input.dataset.unit) {
      out[input.name] = { value: numberOf(input, value), unit: $(`#${CSS.escape(input.dataset.unit)}`)?.value ?? input.dataset.unit };
    } else if ('count' in input.dataset) {
      out[input.name] = Number(numberOf(input, value));
    } else if ('instant' in input.dataset) {
      out[input.name] = instant(value, zone).toISOString();
    } else if (input.name.endsWith('[]')) {
      (out[input.name.slice(0, -2)] ??= []).push(value);
    } else {
      const values = value.split(' ');
      const names = input.name.split(' ');
      names.forEach((name, i) => { out[name] = names.length === 1 ? value : values[i]; });
    }
  }
  if ($('[data-reading]', form) && !out.readings) throw new Error('Nothing was measured: write at least one result.');
  return out;
}

function say(form, state, text) {
  const said = $('.said', form);
  said.dataset.state = state;
  if (said.textContent !== text) said.textContent = text;
}

const words = (form) => [form.dataset.say, ...$$('[name]', form).filter((i) => i.type !== 'checkbox' && i.value).map((i) => (i.dataset.reading ? `${i.labels[0].textContent} ${i.value}` : i.tagName === 'SELECT' ? i.selectedOptions[0].textContent : i.value))].join(', ');

async function save(form) {
  let data;
  try {
    data = bodyOf(form);
  } catch (wrong) {
    return say(form, 'needs-you', wrong.message);
  }
  const wall = $('[data-when]', form)?.value;
  const time = (wall ? instant(wall, zone) : new Date()).toISOString();
  const fact = { id: uuid7(), type: form.dataset.kind, time, facility: form.dataset.facility ?? facility, data };
  saved.set(form, fact.id);
  try {
    await queue.save(fact, { by, animals: data.animal ? [data.animal] : [], text: words(form) });
    queue.again(fact.id); // at once: a form has no Undo to wait for
  } catch {
    saved.delete(form);
    return say(form, 'needs-you', 'This phone could not save it. Write it on the paper sheet and try again; the form still holds it.');
  }
  return show();
}

/** Says of each form where its last entry stands. */
function show() {
  for (const [form, id] of saved) {
    const entry = queue.entries.get(id);
    if (!entry) continue;
    if (entry.state === 'recorded') {
      say(form, 'recorded', `At the server, entry ${entry.receipt.number}. Load the page again to see it in the figures.`);
      saved.delete(form);
      form.reset();
    } else if (entry.state === 'refused') {
      say(form, 'needs-you', `${entry.problem.title}. ${entry.problem.detail} Nothing was recorded; change the form and save again.`);
      saved.delete(form);
      queue.aside(id);
    } else {
      say(form, 'waiting', queue.trouble ? `Saved on this phone. ${trouble()}` : 'Saved on this phone.');
    }
  }
  for (const b of $$('.write-form button')) b.disabled = saved.has(b.form);
}

function trouble() {
  if (queue.trouble === 'offline') return 'There is no line to the server; it is sent when there is one.';
  if (queue.trouble === 'sign-in') return 'It is sent when you have signed in again.';
  return `${queue.trouble}; it is sent again by itself.`;
}

/** Follows the queue for as long as the page is open. */
async function follow() {
  for (const form of $$('.write-form', place)) {
    form.noValidate = true;
    form.addEventListener('submit', (e) => {
      e.preventDefault();
      if (!saved.has(form)) save(form);
    });
  }
  queue.addEventListener('change', show);
  await queue.start();
  queue.send();
  addEventListener('online', () => queue.send());
  setInterval(() => queue.send(), 15_000);
  place.dataset.ready = '';
}

$('#print')?.addEventListener('click', () => print());
if (place) follow();
