// Dose: what the veterinarian ordered for the animal, and one touch for a dose
// that was given. Nothing is offered without an order.

import { $, button, el, fill } from './dom.js';
import { ordersNow } from './care.js';
import { clock, longDate } from './sheet.js';
import { stated, wire } from './fact.js';

const unitWords = { ug: 'µg', '[iU]': 'IU', '{tablet}': 'tablet' };
const routeWords = { mouth: 'by mouth', injection: 'by injection', skin: 'on the skin', eye: 'in the eye', ear: 'in the ear', inhaled: 'inhaled' };
export const takenWords = { all: 'all taken', part: 'part taken', none: 'not taken' };

const amount = (q) => `${q.value}\u00a0${q.unit === '{tablet}' && q.value !== '1' ? 'tablets' : (unitWords[q.unit] ?? q.unit)}`;

/** What a dose says, in one line. */
export const doseWords = (data) => `${data.medication}, ${amount(data.dose)}, ${takenWords[data.taken] ?? 'given'}`;

export class DosePad {
  #deck;
  #sure = ''; // order and answer that were asked about

  constructor(deck) { this.#deck = deck; }

  draw() {
    const { animal } = this.#deck;
    const orders = ordersNow(this.#deck, animal);
    $('#no-order').hidden = orders.length > 0;
    $('#no-order').textContent = `No order holds for ${animal.name} now. Medication is given on the veterinarian’s order alone.`;
    $('#dose-says').hidden = orders.length === 0;
    fill($('#orders'), orders.map((o) => this.#order(o)));
  }

  #order(o) {
    const sure = this.#sure.startsWith(`${o.order} `);
    const taken = (answer, attributes, ...words) => {
      const b = button({ 'data-taken': answer, 'data-order': o.order, ...attributes }, ...words);
      b.addEventListener('click', () => this.#give(o, answer));
      return b;
    };
    const yes = (answer) => this.#sure === `${o.order} ${answer}`;
    return el('li', {}, el('p', {}, el('b', {}, o.medication), el('small', {}, this.#says(o))), el('p', { class: sure ? 'odd' : 'count-says', role: sure ? 'status' : undefined }, sure ? this.#doubt(o) : this.#counted(o)), el('div', { class: 'g' },
      taken('all', { class: 'big go word' }, yes('all') ? 'Yes, one more' : 'Given, all taken', el('small', {}, amount(o.dose)))), el('div', { class: 'g c2' },
      taken('part', {}, yes('part') ? 'Yes, one more' : 'Part taken'), taken('none', {}, 'Not taken')));
  }

  #says(o) {
    const { zone } = this.#deck.sheet;
    return [amount(o.dose), routeWords[o.route], o.until && `until ${longDate(Date.parse(o.until), zone)}`, `ordered by ${o.veterinarian}`, o.text].filter(Boolean).join(', ');
  }

  #counted(o) {
    const last = o.last && o.given > 0 ? `; last at ${clock(Date.parse(o.last), this.#deck.sheet.zone)}` : '';
    return o.daily ? `${o.given} of ${o.of} given today${last}` : `A single dose: ${o.given > 0 ? `given${last}` : 'not given yet'}`;
  }

  #doubt(o) {
    return o.daily ? `◆ ${o.given} of ${o.of} doses are given today. One more?` : '◆ It was ordered once and is given. One more?';
  }

  /** A dose beyond the number of the order is asked about once; one not taken is none. */
  #give(o, answer) {
    const asked = `${o.order} ${answer}`;
    if (answer !== 'none' && o.given >= o.of && this.#sure !== asked) {
      this.#sure = asked;
      return this.draw();
    }
    this.#sure = '';
    const { animal } = this.#deck;
    const data = stated({ animal: animal.id, medication: o.medication, dose: o.dose, route: o.route, order: o.order, taken: answer });
    return this.#deck.save(wire.dose, data, doseWords(data));
  }
}
