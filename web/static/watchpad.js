// The pad of a watch: who is in view and how, then the clock, the counts and
// the encounters, then its record.

import { $, $$, button, closable, el, fill, press } from './dom.js';
import { chosen, drawWhere, face } from './enclosure.js';
import { local, uuid7, wire } from './fact.js';
import { clock } from './sheet.js';
import { large, signalWords } from './encounter.js';

const counted = ['displaced', 'threat', 'vocal', 'chase', 'lunge', 'bite'];
const long = 4 * 3600_000; // longer than anybody watches without a break; common practice, no source

/** A length of time as a clock runs: 4:05, 1:04:05. */
function running(ms) {
  const [h, m, s] = [Math.floor(ms / 3600_000), Math.floor(ms / 60_000) % 60, Math.floor(ms / 1000) % 60];
  const two = (n) => String(n).padStart(2, '0');
  return h > 0 ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** A length of time in words: 12 min, 1 h 4 min. */
function lasting(ms) {
  const min = Math.round(ms / 60_000);
  return min < 60 ? `${min}\u00a0min` : `${Math.floor(min / 60)}\u00a0h ${min % 60}\u00a0min`;
}

export class WatchPad {
  #deck;
  #watch;
  #encounter;

  constructor(deck, encounter) {
    this.#deck = deck;
    this.#watch = deck.watch;
    this.#encounter = encounter;
    closable($('#ended'));
    for (const b of $$('[data-method]')) b.addEventListener('click', () => { deck.change({ method: b.dataset.method, view: null }); this.draw(); });
    $('#watch-go').addEventListener('click', () => this.#start());
    $('#watch-stop').addEventListener('click', () => this.#stop());
    $('#watch-drop').addEventListener('click', () => this.#askDrop(true));
    $('#watch-drop-no').addEventListener('click', () => this.#askDrop(false));
    $('#watch-drop-yes').addEventListener('click', () => this.#drop());
    $('#ended-now').addEventListener('click', () => this.#ended(deck.now()));
    $('#ended-touch').addEventListener('click', () => this.#ended(new Date(this.#lastTouch())));
    $('#ended-ok').addEventListener('click', () => this.#ended(new Date($('#ended-at').value)));
  }

  draw() {
    const w = this.#watch.running;
    const two = w ? this.#deck.draft.pair.map((id) => w.around.find((a) => a.id === id)).filter(Boolean) : [];
    $('#watch-plan').hidden = Boolean(w);
    $('#watch-run').hidden = !w || two.length === 2;
    $('#watch-what').hidden = two.length < 2;
    if (!w) return this.#drawPlan();
    if (two.length === 2) return this.#encounter.draw($('#watch-what'), two, w.facility, () => this.#pair([]));
    return this.#drawRun(w);
  }

  /** Who is looked at: all by default, one where one is followed. */
  #view(here) {
    const { view, method } = this.#deck.draft;
    return view ?? (method === 'focal' ? [] : here.animals.map((a) => a.id));
  }

  #drawPlan() {
    const { draft } = this.#deck;
    drawWhere($('#watch-where'), $('#watch-nowhere'), this.#deck);
    const here = chosen(this.#deck);
    $('#watch-who').hidden = !here;
    if (!here) return;
    const view = this.#view(here);
    $('#watch-ask').textContent = draft.method === 'focal' ? 'Whom do you follow?' : 'In view: touch who is not';
    for (const b of $$('[data-method]')) press(b, b.dataset.method === draft.method);
    fill($('#in-view'), here.animals.map((a) => this.#viewButton(a, view)));
    $('#watch-go').disabled = view.length === 0;
  }

  #viewButton(a, view) {
    const seen = view.includes(a.id);
    const focal = this.#deck.draft.method === 'focal';
    const b = face(a, { 'data-view': a.id, 'aria-pressed': String(seen) }, focal ? '' : seen ? 'in view' : 'left out');
    b.addEventListener('click', () => {
      const others = focal ? [] : view.filter((id) => id !== a.id);
      this.#deck.change({ view: seen ? others : [...others, a.id] });
      this.draw();
    });
    return b;
  }

  async #start() {
    const { sheet, draft } = this.#deck;
    const here = chosen(this.#deck);
    const animals = here.animals.map((a) => a.id).filter((id) => this.#view(here).includes(id));
    const around = here.animals.filter((a) => draft.method === 'focal' || animals.includes(a.id)).map(({ id, name, tape }) => ({ id, name, tape }));
    this.#deck.change({ pair: [], view: null, enclosure: here.id });
    await this.#kept(() => this.#watch.begin({
      entry: uuid7(), watch: uuid7(), facility: sheet.facility.code, enclosure: here.id, pool: here.name,
      method: draft.method, observer: sheet.visitor.name, animals, around, start: this.#deck.now().getTime(), counts: {},
    }));
  }

  /** What can't be kept must be told: a count that is lost looks like one that was not seen. */
  async #kept(change) {
    try {
      await change();
    } catch (err) {
      this.#deck.alarm(`Not kept: ${err.message}. Stop the watch, or note it on paper.`);
    }
  }

  #drawRun(w) {
    const { draft, sheet } = this.#deck;
    const met = this.#watch.encounters().length;
    $('#watch-says').textContent = `since ${clock(w.start, sheet.zone)}, ${met} ${met === 1 ? 'encounter' : 'encounters'}`;
    fill($('#met-whom'), w.around.map((a) => this.#metButton(a, draft.pair)));
    fill($('#counts'), counted.map((signal) => this.#counter(signal, w.counts[signal] ?? 0)));
    this.tick();
  }

  #metButton(a, pair) {
    const chosenNow = pair.includes(a.id);
    const b = face(a, { 'data-met': a.id, 'aria-pressed': String(chosenNow) });
    b.addEventListener('click', () => this.#pair(chosenNow ? [] : [...pair, a.id]));
    return b;
  }

  #pair(pair) {
    this.#deck.change({ pair });
    this.draw();
    if (document.activeElement === document.body) $('#pad-watch button:not([hidden] *)')?.focus({ preventScroll: true });
  }

  #counter(signal, n) {
    const word = signalWords[signal];
    const more = button({ 'data-count': signal }, el('span', {}, large(word).replace('Disp', 'Dis\u00adp')), el('b', {}, String(n)));
    const less = button({ 'data-less': signal, 'aria-label': `One ${word} less`, disabled: n === 0 }, '−');
    more.addEventListener('click', () => this.#kept(() => this.#watch.count(signal, 1, this.#deck.now())));
    less.addEventListener('click', () => this.#kept(() => this.#watch.count(signal, -1, this.#deck.now())));
    return el('div', { class: 'count' }, more, less);
  }

  /** Lets the clock run: on the pad, and in the line that stands on every pad. */
  tick() {
    const w = this.#watch.running;
    const line = $('#running');
    line.hidden = !w;
    if (!w) return;
    const ms = Math.max(0, this.#deck.now() - w.start);
    line.toggleAttribute('data-long', ms > long);
    $('#running-what').textContent = ms > long ? `Still watching ${w.pool}?` : `Watching ${w.pool}`;
    $('#running-clock').textContent = running(ms);
    $('#watch-clock').textContent = running(ms);
  }

  #lastTouch() {
    const w = this.#watch.running;
    return Math.max(w.start, w.touched ?? 0, ...this.#watch.encounters().map((e) => Date.parse(e.fact.time)));
  }

  #stop() {
    const w = this.#watch.running;
    const now = this.#deck.now();
    if (now - w.start <= long) return this.#save(now);
    const last = this.#lastTouch();
    $('#ended-says').textContent = `It has run for ${lasting(now - w.start)}, since ${clock(w.start, this.#deck.sheet.zone)}. Rates rest on its length.`;
    $('#ended-touch').replaceChildren('At the last touch', el('small', {}, clock(last, this.#deck.sheet.zone)));
    $('#ended-touch').disabled = last === w.start;
    $('#ended-at').value = local(new Date(last));
    $('#ended-wrong').textContent = '';
    return $('#ended').showModal();
  }

  #ended(at) {
    const wrong = Number.isNaN(at.getTime()) ? 'Write a day and a time.' : at > this.#deck.now() ? 'That is still to come.' : at < this.#watch.running.start ? 'That is before the watch began.' : '';
    $('#ended-wrong').textContent = wrong;
    if (wrong) return undefined;
    $('#ended').close();
    return this.#save(at);
  }

  #save(until) {
    const w = this.#watch.running;
    const counts = counted.filter((s) => w.counts[s] > 0).map((signal) => ({ signal, count: w.counts[signal] }));
    const data = { watch: w.watch, enclosure: w.enclosure, until: until.toISOString(), method: w.method, observer: w.observer, animals: w.animals };
    if (counts.length > 0) data.counts = counts;
    const says = counts.map((c) => `, ${c.count} ${signalWords[c.signal]}`).join('');
    this.#deck.change({ pair: [] });
    return this.#deck.save(wire.watch, data, `Watch of ${w.pool}, ${lasting(until - w.start)}${says}`, [], { facility: w.facility, at: new Date(w.start), id: w.entry });
  }

  #askDrop(ask) {
    $('#watch-end').hidden = ask;
    $('#watch-drop-ask').hidden = !ask;
    const met = this.#watch.encounters().length;
    $('#drop-says').textContent = `Discard this watch and its counts?${met > 0 ? ` The ${met === 1 ? 'encounter' : `${met} encounters`} stay.` : ''}`;
    $(ask ? '#watch-drop-no' : '#watch-drop').focus();
  }

  async #drop() {
    this.#askDrop(false);
    await this.#kept(() => this.#watch.drop());
  }
}
