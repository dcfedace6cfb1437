// The five pads: what a touch on each means as a fact.

import { $, $$, button, el, press, tape } from './dom.js';
import { AmountAsk, keyOf, keypad, typedOn } from './amount.js';
import { dayIn, longDate, weekday } from './sheet.js';
import { decimal, kg, kilos, wire } from './fact.js';

/** Feed: a food, and how much of it went in. */
export class FeedPad {
  #deck;
  #all = false; // foods outside the ration are shown too
  #amount = new AmountAsk();

  constructor(deck) {
    this.#deck = deck;
    for (const b of $$('[data-part]')) b.addEventListener('click', () => this[b.dataset.part]());
  }

  #food() { return this.#deck.sheet.food(this.#deck.draft.food); }

  draw() {
    const { sheet, animal, draft } = this.#deck;
    const all = sheet.foodsFor(animal);
    const planned = all.filter((f) => this.#all || f.id === draft.food || animal.ration.some((r) => r.food === f.id));
    const foods = animal.ration.length > 0 ? planned : all;
    if (!all.some((f) => f.id === draft.food)) draft.food = foods[0]?.id;
    const more = foods.length < all.length ? [this.#moreButton()] : [];
    $('#foods').replaceChildren(...foods.map((f) => this.#foodButton(f)), ...more);
    $('#foods').className = foods.length + more.length <= 3 ? 'g c3' : 'g c2';
    this.#drawAmounts();
    this.#drawRest();
  }

  #moreButton() {
    const b = button({ id: 'more-foods' }, 'Other food');
    b.addEventListener('click', () => { this.#all = true; this.draw(); });
    return b;
  }

  #foodButton(f) {
    const b = button({ 'data-food': f.id, 'aria-pressed': String(f.id === this.#deck.draft.food) }, f.name, el('small', {}, f.lot ?? ''));
    b.addEventListener('click', () => { this.#all = false; this.#deck.change({ food: f.id }); this.draw(); });
    return b;
  }

  /** Portions that suit the animal: small ones below a ration of 8 kg. */
  #drawAmounts() {
    const ration = this.#deck.animal.ration.reduce((sum, r) => sum + r.grams, 0);
    const portions = ration < 8000 ? ['0.2', '0.5', '1.0'] : ['0.5', '1.0', '2.0'];
    const buttons = portions.map((p) => button({ class: 'big', 'data-kg': p }, p, el('small', {}, 'kg')));
    buttons.forEach((b, i) => b.addEventListener('click', () => this.#give(portions[i], portions[i])));
    const other = button({ class: 'big', 'data-kg': 'other' }, '…', el('small', {}, 'kg'));
    other.setAttribute('aria-label', 'Other amount');
    other.addEventListener('click', () => this.other());
    $('#amounts').replaceChildren(...buttons, other);
  }

  /** What is left of today's ration of this food, in grams. */
  #rest() {
    const { animal, eaten, draft } = this.#deck;
    const planned = animal.ration.find((r) => r.food === draft.food)?.grams ?? 0;
    return planned - (eaten()[draft.food] ?? 0);
  }

  #drawRest() {
    const rest = this.#rest();
    $('#rest').disabled = rest < 50;
    $('small', $('#rest')).textContent = rest < 50 ? 'nothing left' : `${kilos(Math.round(rest / 100) * 100)}\u00a0kg`;
  }

  rest() {
    const rest = kilos(Math.round(this.#rest() / 100) * 100);
    return this.#give(rest, rest);
  }

  async other() {
    const amount = await this.#ask('How much', 'went in?');
    if (amount) await this.#give(amount, amount);
  }

  async refused() {
    const offered = await this.#ask('How much', 'was offered and refused?');
    if (offered) await this.#give(offered, '0');
  }

  async left() {
    const offered = await this.#ask('How much', 'was offered?');
    if (!offered) return;
    const left = await this.#ask(`How much of the ${offered}\u00a0kg`, 'was left?', (v) => (Number(v) > Number(offered) ? `More than the ${offered} kg offered.` : ''));
    if (left) await this.#give(offered, kilos((Number(offered) - Number(left)) * 1000));
  }

  #ask(start, end, also = () => '') {
    const ration = this.#deck.animal.ration.reduce((sum, r) => sum + r.grams, 0) / 1000;
    return this.#amount.ask({
      question: `${start} ${this.#food().name.toLowerCase()} ${end}`,
      refuse: (v) => (Number(v) === 0 ? 'Nothing is not a feed.' : Number(v) > 150 ? 'Over 150 kg: more than one feed can be.' : also(v)),
      doubt: (v) => (ration > 0 && Number(v) > ration ? `${v} kg is more than the day’s ration of ${ration.toFixed(1)} kg.` : ''),
    });
  }

  #give(offered, eaten) {
    const food = this.#food();
    const item = { food: food.id, offered: kg(offered), eaten: kg(eaten) };
    if (food.lot) item.lot = food.lot;
    const text = Number(eaten) === 0 ? `${food.name} ${offered}\u00a0kg refused` : eaten === offered ? `${food.name} ${eaten}\u00a0kg` : `${food.name} ${eaten} of ${offered}\u00a0kg`;
    return this.#deck.save(wire.feed, { animal: this.#deck.animal.id, items: [item], how: 'hand' }, text);
  }
}

const heaviest = 4500; // kg, as the server's own limit
const lightest = 0.5;

/** Weigh: digits, dry or wet, save. */
export class WeighPad {
  #deck;
  #sure = '';

  constructor(deck) {
    this.#deck = deck;
    keypad($('#keys'), (k) => this.#type(k));
    $('#wet').addEventListener('click', () => { deck.change({ wet: !deck.draft.wet }); this.draw(); });
    $('#save-weight').addEventListener('click', () => this.#save());
    document.addEventListener('keydown', (e) => this.#key(e));
  }

  #key(e) {
    if (this.#deck.draft.tab !== 'weigh' || document.querySelector('dialog[open]') || e.target.matches('input, select')) return;
    const k = keyOf(e);
    if (k) { e.preventDefault(); this.#type(k); }
  }

  #type(k) {
    this.#sure = '';
    this.#deck.change({ kg: typedOn(this.#deck.draft.kg, k) });
    this.draw();
  }

  draw(note = '') {
    const { draft, animal } = this.#deck;
    const value = decimal(draft.kg);
    $('#kg').textContent = draft.kg || '0';
    $('#kg-say').textContent = note || this.#last(animal.weight);
    $('#kg-say').classList.toggle('odd', note !== '');
    press($('#wet'), draft.wet);
    $('#save-weight').disabled = Number(value) === 0;
    $('#save-weight').textContent = Number(value) === 0 ? 'Save weight' : `${this.#sure ? 'Yes, ' : 'Save '}${value}\u00a0kg`;
  }

  #last(w) {
    if (!w) return 'No weight on record';
    return `Last ${w.kg.toFixed(1)} kg, ${longDate(Date.parse(w.time), this.#deck.sheet.zone)}`;
  }

  /** Why a weight can't be, or '' */
  #refuse(value) {
    if (Number(value) > heaviest) return `Over ${heaviest} kg: heavier than any seal or sea lion. Check the digits.`;
    if (Number(value) < lightest) return `Under ${lightest} kg: lighter than any pup. Check the digits.`;
    return '';
  }

  /**
   * A weight well outside the animal's last 30 days is read back and asked
   * about once; 5 % beyond their least and greatest is common practice without
   * a source. A true odd value is never blocked.
   */
  #doubt(value) {
    const w = this.#deck.animal.weight;
    if (!w) return '';
    const n = Number(value);
    if (n >= w.least * 0.95 && n <= w.most * 1.05) return '';
    const off = Math.abs(n - w.kg).toFixed(1);
    const zone = this.#deck.sheet.zone;
    const at = Date.parse(w.time);
    const day = Date.now() - at < 6 * 24 * 3600_000 ? weekday(at, zone) : longDate(at, zone);
    return `${off} kg ${n < w.kg ? 'under' : 'over'} ${day}.`;
  }

  #save() {
    const { draft, animal } = this.#deck;
    const value = decimal(draft.kg);
    const no = this.#refuse(value);
    if (no) return this.draw(no);
    const odd = this.#sure === value ? '' : this.#doubt(value);
    if (odd) {
      this.#sure = value;
      return this.draw(`◆ ${odd} Right?`);
    }
    this.#sure = '';
    const coat = draft.wet ? 'wet' : 'dry';
    this.#deck.change({ kg: '', wet: false });
    return this.#deck.save(wire.weight, { animal: animal.id, mass: kg(value), coat }, `Weight ${value} kg, ${coat}`);
  }
}

/** Coat: where new coat shows, and one touch for how much. */
export class CoatPad {
  #deck;

  constructor(deck) {
    this.#deck = deck;
    for (const b of $$('[data-region]')) b.addEventListener('click', () => this.#toggle(b.dataset.region));
    for (const b of $$('[data-stage]')) b.addEventListener('click', () => this.#score(b));
  }

  #toggle(region) {
    const has = this.#deck.draft.regions;
    this.#deck.change({ regions: has.includes(region) ? has.filter((r) => r !== region) : [...has, region] });
    this.draw();
  }

  draw() {
    for (const b of $$('[data-region]')) press(b, this.#deck.draft.regions.includes(b.dataset.region));
  }

  #score(b) {
    const { draft, animal } = this.#deck;
    const data = { animal: animal.id, stage: b.dataset.stage };
    if (draft.regions.length > 0) data.regions = draft.regions;
    this.#deck.change({ regions: [] });
    return this.#deck.save(wire.coat, data, `Coat ${b.dataset.words}`);
  }
}

/** Yield: an encounter of two, and who moved off. */
export class YieldPad {
  #deck;
  #all = ''; // the animal for which everyone of the facility is shown

  constructor(deck) {
    this.#deck = deck;
    for (const b of $$('[data-place]')) b.addEventListener('click', () => { deck.change({ place: b.dataset.place }); this.draw(); });
    for (const b of $$('[data-yielded]')) b.addEventListener('click', () => this.#seen(b.dataset.yielded));
  }

  /** Those of the same enclosure; everyone where that is asked for or nobody is near. */
  #others() {
    const { sheet, animal, draft } = this.#deck;
    const all = sheet.data.animals.filter((a) => a.id !== animal.id);
    const near = all.filter((a) => (a.enclosure !== '' && a.enclosure === animal.enclosure) || a.id === draft.other);
    return near.length === 0 || this.#all === animal.id ? all : near;
  }

  #elseButton() {
    const b = button({ id: 'someone-else' }, 'Others');
    b.addEventListener('click', () => { this.#all = this.#deck.animal.id; this.draw(); });
    return b;
  }

  draw() {
    const { sheet, animal, draft } = this.#deck;
    const other = sheet.animal(draft.other);
    const others = this.#others();
    const more = others.length + 1 < sheet.data.animals.length ? [this.#elseButton()] : [];
    $('#others').replaceChildren(...others.map((a) => this.#otherButton(a)), ...more);
    for (const b of $$('[data-place]')) press(b, b.dataset.place === draft.place);
    for (const node of $$('[data-me]')) node.textContent = animal.name;
    $('[data-them]').textContent = other?.name ?? 'pick above';
    for (const b of $$('[data-yielded]')) b.disabled = !other;
  }

  #otherButton(a) {
    const b = button({ class: 'animal', 'data-other': a.id, 'aria-pressed': String(a.id === this.#deck.draft.other) }, tape(a.tape), el('span', {}, a.name));
    b.addEventListener('click', () => { this.#deck.change({ other: a.id }); this.draw(); });
    return b;
  }

  #seen(who) {
    const { sheet, animal, draft } = this.#deck;
    const other = sheet.animal(draft.other);
    const [winner, loser] = who === 'self' ? [other, animal] : [animal, other];
    const data = { winner: winner.id, loser: loser.id, place: draft.place };
    if (who === 'neither' || who === 'unclear') data.draw = true;
    if (who === 'unclear') data.text = 'could not tell who yielded';
    const text = data.draw ? `${animal.name} and ${other.name}, ${who === 'neither' ? 'neither yielded' : 'could not tell'}` : `${loser.name} yielded to ${winner.name}`;
    this.#deck.change({ other: '' });
    return this.#deck.save(wire.encounter, data, text, [animal.id, other.id]);
  }
}

const outcomes = { met: 'met', missed: 'missed', no_try: 'no try', swam_off: 'swam off' };

/** Trial: the behaviour, its step, and one touch for what came of it. */
export class TrialPad {
  #deck;

  constructor(deck) {
    this.#deck = deck;
    $('#behaviour').addEventListener('change', (e) => { deck.change({ behaviour: e.target.value }); this.draw(); });
    $('#step-down').addEventListener('click', () => this.#move(-1));
    $('#step-up').addEventListener('click', () => this.#move(1));
    for (const b of $$('[data-outcome]')) b.addEventListener('click', () => this.#score(b.dataset.outcome));
  }

  #behaviour() {
    const all = this.#deck.sheet.behavioursOf(this.#deck.animal.id);
    return all.find((b) => b.id === this.#deck.draft.behaviour) ?? all[0];
  }

  #step(b) { return Math.min(Math.max(this.#deck.draft.steps[b.id] ?? b.at, 1), b.steps.length); }

  #move(by) {
    const b = this.#behaviour();
    const step = Math.min(Math.max(this.#step(b) + by, 1), b.steps.length);
    this.#deck.change({ steps: { ...this.#deck.draft.steps, [b.id]: step } });
    this.draw();
  }

  draw() {
    const all = this.#deck.sheet.behavioursOf(this.#deck.animal.id);
    $('#trial').hidden = all.length === 0;
    $('#no-trial').hidden = all.length > 0;
    if (all.length === 0) return;
    const b = this.#behaviour();
    const step = this.#step(b);
    $('#behaviour').replaceChildren(...all.map((x) => el('option', { value: x.id, selected: x.id === b.id }, x.name)));
    $('#step').textContent = `Step ${step} of ${b.steps.length}: ${b.steps[step - 1].step}`;
    $('#step-down').disabled = step === 1;
    $('#step-up').disabled = step === b.steps.length;
    this.#drawMarks(b, step);
  }

  /** What this phone scored at this step today. */
  #drawMarks(b, step) {
    const { sheet, queue } = this.#deck;
    const gone = new Set(queue.list().filter((e) => e.fact.type === wire.withdrawn).map((e) => e.fact.data.entry));
    const today = dayIn(Date.now() + sheet.offset, sheet.zone);
    const trials = queue.list().filter((e) => e.fact.type === wire.trial && !gone.has(e.id) && e.state !== 'aside' && e.fact.data.behaviour === b.id && e.fact.data.step === step && dayIn(Date.parse(e.fact.time), sheet.zone) === today);
    const met = trials.filter((e) => e.fact.data.outcome === 'met').length;
    const plan = b.steps[step - 1];
    const rule = plan.met && plan.of ? ` The plan asks for ${plan.met} of ${plan.of}.` : '';
    $('#marks').textContent = trials.length === 0 ? `No trial here today.${rule}` : `${met} met of ${trials.length} today, on this phone.${rule}`;
  }

  #score(outcome) {
    const b = this.#behaviour();
    const step = this.#step(b);
    return this.#deck.save(wire.trial, { behaviour: b.id, animal: this.#deck.animal.id, step, outcome }, `Trial, ${b.name}, step ${step}: ${outcomes[outcome]}`);
  }
}
