// Feed: a food, and how much of it went in.

import { $, $$, button, el, fill } from './dom.js';
import { AmountAsk } from './amount.js';
import { kg, kilos, wire } from './fact.js';

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
    fill($('#foods'), [...foods.map((f) => this.#foodButton(f)), ...more]);
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
    const other = button({ class: 'big word', 'data-kg': 'other' }, 'Other', el('small', {}, 'amount'));
    other.addEventListener('click', () => this.other());
    fill($('#amounts'), [...buttons, other]);
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
