// The last entries about an animal or an enclosure, and the sheet of everything on this phone.

import { $, button, el, fill } from './dom.js';
import { clock } from './sheet.js';
import { wire } from './fact.js';
import { photosLeft } from './photopost.js';

const fixTypes = new Set([wire.corrected, wire.withdrawn]);
const rows = 8;

/** Where an entry stands in the list: at its end, if it lasted. */
const ended = (data, time) => Date.parse(data.until ?? time);

/** Age of an entry in words. */
export function age(ms) {
  const min = Math.round(ms / 60_000);
  if (min < 1) return 'just now';
  if (min < 120) return `${min} min`;
  if (min < 48 * 60) return `${Math.round(min / 60)} h`;
  return `${Math.round(min / 1440)} days`;
}

export class Log {
  #deck;
  #fix;

  constructor(deck, fix) {
    this.#deck = deck;
    this.#fix = fix;
  }

  /** Lists what is said about an animal or an enclosure, newest first. */
  draw(about) {
    const { queue } = this.#deck;
    const own = queue.list().filter((e) => about.own(e) && !fixTypes.has(e.fact.type) && e.state !== 'aside');
    const known = new Set(own.map((e) => e.id));
    const all = [...own.map((e) => this.#own(e)), ...about.recent.filter((e) => !known.has(e.id)).map((e) => this.#theirs(e, about))];
    all.sort((a, b) => b.at - a.at);
    fill($('#log'), all.slice(0, rows).map((row) => row.node()));
    $('#deck').toggleAttribute('data-held', queue.list().some((e) => queue.undoable(e)));
  }

  /** The newest fix of an entry that this phone holds. */
  #fixOf(id) { return this.#deck.queue.list().find((e) => fixTypes.has(e.fact.type) && e.fact.data.entry === id && e.state !== 'aside'); }

  #own(e) {
    const { queue } = this.#deck;
    const state = queue.stateOf(e);
    const words = { waiting: 'Saved on this phone', sending: 'Saved on this phone', recorded: '✓ At the server', 'needs-you': 'Needs you: see the queue' }[state];
    return this.#row({ id: e.id, at: ended(e.fact.data, e.fact.time), text: e.text, by: e.by, words, state, type: e.fact.type, data: e.fact.data, facility: e.fact.facility, animals: e.animals, photos: photosLeft(e).length, undo: queue.undoable(e) ? e : null });
  }

  #theirs(e, { animals, facility }) {
    const words = { counts: '✓ At the server', corrected: '✓ At the server, corrected', withdrawn: '✓ At the server, taken out' }[e.state];
    return this.#row({ id: e.id, at: ended(e.data, e.time), text: e.text.replace(/^(Fed|Medication) /, ''), by: e.by, words: `${words}, ${e.by}`, state: 'recorded', type: e.type, data: e.data, facility, animals, gone: e.state === 'withdrawn' });
  }

  #row(e) {
    return { at: e.at, node: () => this.#node(e) };
  }

  #node(e) {
    const fix = this.#fixOf(e.id);
    const struck = fix || e.gone;
    const said = fix ? `${fix.text.split(':')[0]}, ${fix.fact.data.reason}` : e.words;
    const text = el('div', {}, el(struck ? 'del' : 'span', {}, e.text), el('small', {}, said));
    return el('li', { 'data-entry': e.id, 'data-state': e.state }, el('span', {}, clock(e.at, this.#deck.sheet.zone)), text, this.#action(e, fix) ?? el('span'));
  }

  #action(e, fix) {
    const { queue } = this.#deck;
    if (fix && queue.undoable(fix)) return this.#undo(fix);
    if (e.undo) return this.#undo(e.undo);
    if (e.gone || fix?.fact.type === wire.withdrawn || e.state === 'needs-you') return null;
    const b = button({ 'data-fix': e.id }, 'Fix');
    b.addEventListener('click', () => this.#fix.open({ ...e, data: fix?.fact.data.data ?? e.data }));
    return b;
  }

  #undo(e) {
    const left = Math.max(1, Math.ceil((e.hold - Date.now()) / 1000));
    const b = button({ 'data-undo': e.id }, `Undo ${left}`);
    b.addEventListener('click', () => this.#deck.undo(e.id));
    return b;
  }
}

/** The chip at the top and the list behind it. */
export class QueueSheet {
  #deck;
  #dialog = $('#queue-sheet');

  constructor(deck) {
    this.#deck = deck;
    $('#queue').addEventListener('click', () => { $('#took').textContent = ''; this.draw(); this.#dialog.showModal(); });
    $('#send-now').addEventListener('click', () => deck.queue.send());
    $('#to-file').addEventListener('click', () => this.#toFile());
    $('#from-file').addEventListener('change', (e) => this.#fromFile(e.target));
  }

  drawChip() {
    const { queue } = this.#deck;
    const waiting = queue.waiting();
    const needy = queue.needy().length;
    const chip = $('#queue');
    chip.dataset.waiting = waiting.length;
    chip.dataset.needs = needy;
    const head = needy > 0 ? `${needy} ${needy === 1 ? 'needs' : 'need'} you` : waiting.length > 0 ? `${waiting.length} waiting` : 'None waiting';
    const why = this.#why();
    const oldest = waiting.length > 0 ? `${why ? '' : 'oldest '}${age(Date.now() - waiting[waiting.length - 1].saved)}` : '';
    const more = needy > 0 && waiting.length > 0 ? `${waiting.length} waiting` : '';
    $('#queue-count').textContent = head;
    $('#queue-age').textContent = [why, more || oldest].filter(Boolean).join(', ') || 'all at the server';
  }

  #why() {
    const { trouble } = this.#deck.queue;
    return { '': '', offline: 'no signal', 'sign-in': 'sign in to send' }[trouble] ?? 'server is not taking them';
  }

  draw() {
    const { queue, sheet } = this.#deck;
    const list = queue.list();
    const clear = list.length === 0 ? 'Nothing was logged on this phone in the last 7 days.' : '';
    const why = { '': '', offline: 'No signal. Entries go out by themselves when there is one.', 'sign-in': 'Sign in to send what waits.' }[queue.trouble] ?? queue.trouble;
    $('#queue-say').textContent = [clear, why].filter(Boolean).join(' ');
    if (queue.trouble === 'sign-in') $('#queue-say').append(' ', el('a', { href: '/sign-in?to=/deck' }, 'Sign in'));
    fill($('#queue-list'), list.slice(0, 200).map((e) => this.#item(e, sheet)));
  }

  #item(e, sheet) {
    const state = this.#deck.queue.stateOf(e);
    const names = e.animals.map((id) => sheet.animal(id)?.name).filter(Boolean).join(', ');
    const word = { waiting: 'waiting', sending: 'sending', recorded: '✓ at the server', 'needs-you': 'needs you', aside: 'set aside' }[state];
    const item = el('li', { 'data-state': state, 'data-entry': e.id }, el('span', {}, names ? `${names}, ${e.text}` : e.text), el('b', {}, word), el('small', {}, this.#note(e, state, sheet)));
    if (state === 'needs-you' || (state === 'waiting' && e.hold <= Date.now() && photosLeft(e).length > 0)) item.append(this.#choices(e, state));
    return item;
  }

  #note(e, state, sheet) {
    const parts = [clock(Date.parse(e.fact.time), sheet.zone), e.by];
    if (state === 'recorded') parts.push(`entry ${e.receipt.number}`, 'kept here 7 days');
    if (photosLeft(e).length > 0) parts.push(photosLeft(e).length === 1 ? 'with a photo' : `with ${photosLeft(e).length} photos`);
    if (state === 'waiting' && e.by !== sheet.visitor.name) parts.push(`sends when ${e.by} signs in`);
    if (state === 'needs-you') parts.push(`${e.problem.title}. ${e.problem.detail}`.trim());
    return parts.join(', ');
  }

  #choices(e, state) {
    const { queue } = this.#deck;
    const bare = button({ class: 'btn', 'data-bare': e.id }, 'Send without photo');
    bare.addEventListener('click', () => queue.withoutPhotos(e.id));
    if (state === 'waiting') return el('div', { class: 'g' }, bare);
    const again = button({ class: 'btn', 'data-again': e.id }, 'Try again');
    const aside = button({ class: 'btn', 'data-aside': e.id }, 'Set aside');
    again.addEventListener('click', () => queue.again(e.id));
    aside.addEventListener('click', () => queue.aside(e.id));
    return el('div', { class: 'g c2' }, again, aside, photosLeft(e).length > 0 ? bare : '');
  }

  async #toFile() {
    const file = await this.#deck.queue.file();
    saveAs(file, `haulout-entries-${file.device}-${file.saved.slice(0, 10)}.json`);
  }

  async #fromFile(input) {
    const [file] = input.files;
    input.value = '';
    if (!file) return;
    try {
      const n = await this.#deck.queue.take(JSON.parse(await file.text()));
      $('#took').textContent = n === 0 ? 'Everything in that file is on this phone already.' : `${n} taken in. Each is sent when the keeper who made it is signed in here.`;
    } catch (err) {
      $('#took').textContent = err instanceof SyntaxError ? 'That file can’t be read. Choose one that a Deck saved.' : err.message;
    }
  }
}

/** Hands a value to the person as a JSON file. */
export function saveAs(value, name) {
  const url = URL.createObjectURL(new Blob([JSON.stringify(value, null, 1)], { type: 'application/json' }));
  el('a', { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
