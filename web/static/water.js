// Water: what was measured in an enclosure's water, reading by reading, and one
// touch that saves them as one test.

import { $, button, closable, el, fill, press } from './dom.js';
import { keyOf, keypad, typedOn } from './amount.js';
import { clock } from './sheet.js';
import { decimal, stated, wire } from './fact.js';

const least = -5; // as the server's own limit
const code = /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/;
const blank = { readings: [], sample: '', repeat: '', what: '', typed: '', unit: '', bound: '', minus: false };
const usual = ['temperature', 'ph', 'salinity', 'free_chlorine', 'total_coliform'];
const counted = ['total_coliform', 'faecal_coliform', 'enterococci'];
const unitWords = { Cel: '°C', '[pH]': '', '[ppth]': '‰', '{MPN}/dL': 'MPN/dL', '[CFU]/dL': 'CFU/dL', 1: '' };

/**
 * Outside of these a value is read back and asked about once, in the first unit
 * of each. Sea water freezes near -1.9 °C; the rest is common practice without a
 * source. A true odd value is never blocked.
 */
const plausible = {
  temperature: [-2, 40], ph: [5, 10], salinity: [0, 45], free_chlorine: [0, 10], total_chlorine: [0, 10], ozone: [0, 5],
  turbidity: [0, 100], ammonia: [0, 10], nitrate: [0, 500], total_coliform: [0, 1e6], faecal_coliform: [0, 1e6], enterococci: [0, 1e6],
};

export const whatWords = (what) => (what === 'ph' ? 'pH' : what.replaceAll('_', ' '));
const large = (text) => (text === 'pH' ? text : text[0].toUpperCase() + text.slice(1));
const hyphened = { temperature: 'temper\u00adature', enterococci: 'entero\u00adcocci', turbidity: 'turbid\u00adity', ammonia: 'am\u00admonia' }; // on narrow buttons
const withUnit = (value, unit) => [value.replace('-', '−'), unitWords[unit] ?? unit].filter(Boolean).join('\u00a0');

/** The result of a reading: 7.9, <1 MPN/dL, too many to count. */
export function resultWords({ value, bound }) {
  if (bound === 'above' && Number(value.value) === 0) return 'too many to count';
  return `${{ below: '<', above: '>' }[bound] ?? ''}${withUnit(value.value, value.unit)}`;
}

const plainly = (r) => resultWords({ ...r, value: { ...r.value, unit: '1' } }); // where the unit stands beside it
const readingWords = (r) => `${whatWords(r.what)}${r.what === 'ph' ? '\u00a0' : ' '}${resultWords(r)}`;

/** What a test says, in one line. */
export function waterWords(data, name) {
  const more = [data.sample && `sample ${data.sample}`, data.repeat && `repeats ${data.repeat}`];
  return [`Water of ${name}: ${data.readings.map(readingWords).join(', ')}`, ...more].filter(Boolean).join(', ');
}

/** The enclosures of the facility, and the one that was chosen; one alone needs no touch. */
const pools = (deck) => deck.sheet.data.waters ?? [];
export function pool(deck) {
  const all = pools(deck);
  return all.length === 1 ? all[0] : all.find((w) => w.id === deck.draft.pool);
}

export class WaterPad {
  #deck;
  #all = false; // what is seldom measured is shown too
  #sure = '';

  constructor(deck) {
    this.#deck = deck;
    closable($('#sample'));
    keypad($('#water-keys'), (k) => this.#type(k));
    document.addEventListener('keydown', (e) => this.#key(e));
    $('#water-minus').addEventListener('click', () => this.#put({ minus: !this.#half.minus }));
    for (const b of [$('#bound-below'), $('#bound-above')]) b.addEventListener('click', () => this.#put({ bound: this.#half.bound === b.dataset.bound ? '' : b.dataset.bound }));
    $('#water-unit').addEventListener('click', () => this.#nextUnit());
    $('#water-back').addEventListener('click', () => this.#toList());
    $('#water-go').addEventListener('click', () => (this.#half.what ? this.#add() : this.#save()));
    $('#sample-open').addEventListener('click', () => this.#openSample());
    $('#sample-ok').addEventListener('click', () => this.#sample());
  }

  get #key0() { return `${this.#deck.sheet.facility.code} ${pool(this.#deck)?.id}`; }

  /** The half-made test of the enclosure; each enclosure has its own. */
  get #half() { return { ...blank, ...this.#deck.draft.tests[this.#key0] }; }

  #change(some) {
    this.#deck.change({ tests: { ...this.#deck.draft.tests, [this.#key0]: { ...this.#half, ...some } } });
  }

  #put(some) {
    this.#sure = '';
    this.#change(some);
    this.draw();
  }

  #quantity(what) { return this.#deck.sheet.data.quantities.find((q) => q.what === what); }

  draw(note = '') {
    const here = pool(this.#deck);
    this.#drawWhere(here);
    $('#water-test').hidden = !here;
    if (!here) return;
    const half = this.#half;
    $('#water-list').hidden = Boolean(half.what);
    $('#water-value').hidden = !half.what;
    $('#sample-open').hidden = Boolean(half.what);
    $('#water-back').hidden = !half.what;
    if (half.what) this.#drawValue(half, note);
    else this.#drawList(here, half);
    this.#drawGo(half);
  }

  #drawWhere(here) {
    const all = pools(this.#deck);
    $('#water-nowhere').hidden = all.length > 0;
    const choose = (id) => { this.#all = false; this.#deck.change({ pool: id }); this.#deck.draw(); };
    const one = (w) => button({ 'data-enclosure': w.id }, w.name, el('small', {}, w.readings[0] ? clock(Date.parse(w.readings[0].time), this.#deck.sheet.zone) : 'no test lately'));
    const other = () => button({ 'data-enclosure': '' }, here.name, el('small', {}, 'change'));
    const shown = !here ? all.map(one) : all.length > 1 && !this.#half.what ? [other()] : [];
    for (const b of shown) b.addEventListener('click', () => choose(b.dataset.enclosure));
    fill($('#water-where'), shown);
  }

  #drawList(here, { readings, sample, repeat }) {
    fill($('#readings'), readings.map((r) => this.#readingRow(r)));
    const { quantities } = this.#deck.sheet.data;
    const known = (q) => usual.includes(q.what) || here.readings.some((r) => r.what === q.what) || readings.some((r) => r.what === q.what);
    const shown = quantities.filter((q) => this.#all || known(q));
    const more = shown.length < quantities.length ? [this.#moreButton()] : [];
    fill($('#quantities'), [...shown.map((q) => this.#whatButton(q, here, readings)), ...more]);
    $('small', $('#sample-open')).textContent = [sample, repeat && `repeats ${repeat}`].filter(Boolean).join(', ') || 'no id';
  }

  #readingRow(r) {
    const b = button({ 'data-unread': r.what, 'aria-label': `Take away: ${readingWords(r)}` }, 'Take away');
    b.addEventListener('click', () => this.#put({ readings: this.#half.readings.filter((x) => x.what !== r.what) }));
    const out = this.#outside(r);
    return el('li', {}, el('div', {}, large(readingWords(r)), el('small', { class: out ? 'odd' : undefined }, out || 'not saved yet')), b);
  }

  #moreButton() {
    const b = button({ id: 'more-quantities' }, 'Others');
    b.addEventListener('click', () => { this.#all = true; this.draw(); });
    return b;
  }

  #whatButton(q, here, readings) {
    const last = here.readings.find((r) => r.what === q.what);
    const b = button({ 'data-what': q.what, 'aria-pressed': String(readings.some((r) => r.what === q.what)) }, large(hyphened[q.what] ?? whatWords(q.what)), el('small', {}, last ? plainly(last) : ''));
    b.addEventListener('click', () => this.#open(q));
    return b;
  }

  /** Asks for a value, or for the value anew where one was read. */
  #open(q) {
    const old = this.#half.readings.find((r) => r.what === q.what);
    const value = old?.value ?? { value: '', unit: q.units[0] };
    const none = old?.bound === 'above' && Number(value.value) === 0;
    this.#put({ what: q.what, typed: none ? '' : value.value.replace('-', ''), unit: value.unit, bound: old?.bound ?? '', minus: value.value.startsWith('-') });
    $('#water-keys button').focus({ preventScroll: true });
  }

  #toList() {
    this.#put({ what: '', typed: '', unit: '', bound: '', minus: false });
    $('#water-go').focus({ preventScroll: true });
  }

  #key(e) {
    if (this.#deck.draft.tab !== 'water' || !pool(this.#deck) || !this.#half.what || document.querySelector('dialog[open]') || e.target.matches('input, select')) return;
    if (e.key === '-' && this.#half.what === 'temperature') { e.preventDefault(); this.#put({ minus: !this.#half.minus }); return; }
    if (e.key === '<' && counted.includes(this.#half.what)) { e.preventDefault(); this.#put({ bound: 'below' }); return; }
    const k = keyOf(e);
    if (k) { e.preventDefault(); this.#type(k); }
  }

  #type(k) { this.#put({ typed: typedOn(this.#half.typed, k) }); }

  #nextUnit() {
    const { units } = this.#quantity(this.#half.what);
    this.#put({ unit: units[(units.indexOf(this.#half.unit) + 1) % units.length] });
  }

  /** The reading as it stands, or nothing while there is no number. */
  #reading({ what, typed, unit, bound, minus }) {
    const figure = decimal(typed);
    if (figure === '' && bound !== 'above') return null;
    const value = figure === '' ? '0' : minus && Number(figure) !== 0 ? `-${figure}` : figure;
    return { what, value: { value, unit }, ...stated({ bound }) };
  }

  #drawValue(half, note) {
    const q = this.#quantity(half.what);
    const many = half.bound === 'above' && half.typed === '';
    $('#water-kg').textContent = many ? 'too many' : `${{ below: '<', above: '>' }[half.bound] ?? ''}${half.minus ? '−' : ''}${half.typed || '0'}`;
    $('#water-kg').classList.toggle('words', many);
    $('#water-what').textContent = `${large(whatWords(half.what))}${unitWords[half.unit] === '' ? '' : `, ${unitWords[half.unit] ?? half.unit}`}`;
    $('#water-say').textContent = note || this.#last(half.what);
    $('#water-say').classList.toggle('odd', note !== '');
    $('#water-limits').textContent = q.limits.map((l) => [`At ${l.side}`, withUnit(String(l.value), l.unit), l.words, l.only].filter(Boolean).join(' ')).join('; ') || 'No limit is in force.';
    for (const [id, on] of [['#water-minus', half.what === 'temperature'], ['#bound-below', counted.includes(half.what)], ['#bound-above', counted.includes(half.what)], ['#water-unit', q.units.length > 1]]) $(id).hidden = !on;
    $('#water-pad').classList.toggle('plain', half.what !== 'temperature' && !counted.includes(half.what) && q.units.length < 2);
    press($('#water-minus'), half.minus);
    press($('#bound-below'), half.bound === 'below');
    press($('#bound-above'), half.bound === 'above');
    const [unit, per] = (unitWords[half.unit] ?? half.unit).split('/');
    $('#water-unit').replaceChildren(unit, el('small', {}, per ? `per ${per}` : 'unit'));
  }

  #last(what) {
    const last = pool(this.#deck).readings.find((r) => r.what === what);
    return last ? `Last ${plainly(last)}, ${clock(Date.parse(last.time), this.#deck.sheet.zone)}` : 'No reading lately';
  }

  #drawGo(half) {
    const go = $('#water-go');
    const r = half.what ? this.#reading(half) : null;
    const n = half.readings.length;
    go.disabled = half.what ? !r : n === 0;
    if (half.what) return go.replaceChildren(`${this.#sure ? 'Yes, ' : 'Add '}${r ? resultWords(r) : ''}`);
    return go.replaceChildren('Save test', el('small', {}, n === 0 ? 'touch what you measured' : n === 1 ? '1 reading' : `${n} readings`));
  }

  /** The value in the first unit of its quantity: ten in a thousand are one in a hundred. */
  #inFirst = ({ value }) => Number(value.value) * (value.unit === '%' ? 10 : 1);

  /** Why a value is to be looked at twice, or ''. */
  #doubt(r) {
    const [low, high] = plausible[r.what];
    const n = this.#inFirst(r);
    if (n >= low && n <= high) return '';
    return `${resultWords(r)} is ${n < low ? 'under' : 'over'} what water has, as far as it is known.`;
  }

  /** The limit in force that a value is surely outside of, in words, or ''. */
  #outside(r) {
    const n = this.#inFirst(r);
    const out = this.#quantity(r.what).limits.find((l) => (l.side === 'most' ? r.bound !== 'below' && (n > l.value || (r.bound === 'above' && n >= l.value)) : r.bound !== 'above' && n < l.value));
    return out ? `▲ outside at ${out.side} ${[withUnit(String(out.value), out.unit), out.only].filter(Boolean).join(' ')}` : '';
  }

  #add() {
    const half = this.#half;
    const r = this.#reading(half);
    if (Number(r.value.value) < least) return this.draw(`Under ${withUnit(String(least), half.unit)}: that is not taken. Check the digits.`);
    const odd = this.#sure === JSON.stringify(r) ? '' : this.#doubt(r);
    if (odd) {
      this.#sure = JSON.stringify(r);
      return this.draw(`◆ ${odd} Right?`);
    }
    this.#change({ readings: [...half.readings.filter((x) => x.what !== r.what), r] });
    return this.#toList();
  }

  /** Samples that wait for a repeat: the server's, and this phone's own that it has not sent. */
  #samples(here) {
    const { queue, sheet } = this.#deck;
    const own = queue.list().filter((e) => e.state === 'waiting' && e.fact.type === wire.water && e.fact.facility === sheet.facility.code && e.fact.data.enclosure === here.id && e.fact.data.sample && !e.fact.data.repeat);
    return [...own.map((e) => ({ sample: e.fact.data.sample, says: 'on this phone' })), ...here.samples.map((s) => ({ sample: s.sample, says: `${s.says}, due ${clock(Date.parse(s.due), sheet.zone)}` }))];
  }

  #openSample() {
    $('#sample-id').value = this.#half.sample;
    $('#sample-say').textContent = '';
    this.#drawRepeats();
    $('#sample').showModal();
  }

  #drawRepeats() {
    const { repeat } = this.#half;
    const all = this.#samples(pool(this.#deck));
    $('#no-samples').hidden = all.length > 0;
    fill($('#repeats'), all.map(({ sample, says }) => {
      const b = button({ class: 'btn', 'data-repeat': sample, 'aria-pressed': String(sample === repeat) }, sample, el('small', {}, says.replaceAll('/', '/\u2060')));
      b.addEventListener('click', () => { this.#change({ repeat: this.#half.repeat === sample ? '' : sample }); this.#drawRepeats(); });
      return b;
    }));
  }

  #sample() {
    const sample = $('#sample-id').value.trim();
    const wrong = sample !== '' && !code.test(sample);
    $('#sample-say').textContent = wrong ? 'An id has letters, digits, dot, dash or underscore, and no space.' : '';
    if (wrong) return;
    $('#sample').close();
    this.#put({ sample });
  }

  #save() {
    const here = pool(this.#deck);
    const { readings, sample, repeat } = this.#half;
    const data = { enclosure: here.id, readings, ...stated({ sample, repeat }) };
    const { [this.#key0]: gone, ...tests } = this.#deck.draft.tests;
    this.#deck.change({ tests });
    return this.#deck.save(wire.water, data, waterWords(data, here.name), []);
  }
}
