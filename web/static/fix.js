// Putting an entry right: a correction or a withdrawal with its reason. The
// original stays readable.

import { $, $$, button, closable, el, fill, press } from './dom.js';
import { decimal, kg, kilos, grams, wire } from './fact.js';
import { encounterWords, withLoser } from './encounter.js';
import { fixers } from './fixcare.js';

export class Fix {
  #deck;
  #dialog = $('#fix');
  #entry = null; // {id, type, data, facility, text, animals}
  #reason = '';
  #fixer = null; // of a kind with fields of its own
  #loser = ''; // of an encounter, as it is put right; '' where neither yielded

  constructor(deck) {
    this.#deck = deck;
    closable(this.#dialog);
    for (const b of $$('[data-reason]')) b.addEventListener('click', () => this.#because(b));
    $('#fix-why').addEventListener('input', (e) => { this.#reason = e.target.value.trim(); this.#because(null); });
    $('#fix-save').addEventListener('click', () => this.#correct());
    $('#fix-out').addEventListener('click', () => this.#withdraw());
  }

  open(entry) {
    this.#entry = entry;
    this.#reason = '';
    $('#fix-why').value = '';
    $('#fix-say').textContent = '';
    for (const b of $$('[data-reason]')) press(b, false);
    $('#fix-what').textContent = entry.text;
    const amount = this.#amount();
    $('#fix-amount').hidden = amount === '';
    $('#fix-kg').value = amount;
    $('#fix-coat').hidden = entry.type !== wire.coat;
    if (entry.data.stage) $('#fix-stage').value = entry.data.stage;
    $('#fix-met').hidden = entry.type !== wire.encounter;
    if (entry.type === wire.encounter) this.#drawMet(entry.data.draw ? '' : entry.data.loser);
    this.#fixer = entry.photos ? null : fixers[entry.type]?.(entry.data, this.#pool) ?? null;
    $('#fix-more').replaceChildren(...(this.#fixer?.nodes ?? []));
    $('#fix-photo').hidden = !entry.photos;
    $('#fix-save').hidden = amount === '' && ![wire.coat, wire.encounter].includes(entry.type) && !(this.#fixer?.nodes.length > 0);
    this.#dialog.showModal();
  }

  #because(chosen) {
    for (const b of $$('[data-reason]')) press(b, b === chosen);
    if (chosen) {
      this.#reason = chosen.dataset.reason;
      $('#fix-why').value = '';
    }
    $('#fix-say').textContent = '';
  }

  /** The kilograms that can be put right here: a weight, or a feed of one food. */
  #amount() {
    const { type, data } = this.#entry;
    if (type === wire.weight) return data.mass.unit === 'kg' ? data.mass.value : kilos(grams(data.mass));
    if (type === wire.feed && data.items.length === 1) {
      const [item] = data.items;
      return kilos(grams(grams(item.eaten) > 0 ? item.eaten : item.offered));
    }
    return '';
  }

  #pool = (id) => this.#deck.sheet.data.waters?.find((w) => w.id === id)?.name ?? id;
  #name = (id) => this.#deck.sheet.animal(id)?.name ?? id;

  /** Who yielded, of the two; a correction stays with the animals of the entry. */
  #drawMet(loser) {
    const { data } = this.#entry;
    this.#loser = loser;
    const one = (id, name, said) => {
      const b = button({ class: 'btn', 'data-moved': id || 'neither', 'aria-pressed': String(id === loser) }, name, el('small', {}, said));
      b.addEventListener('click', () => this.#drawMet(id));
      return b;
    };
    const two = [data.winner, data.loser].sort().map((id) => one(id, this.#name(id), 'moved off'));
    fill($('#fix-yielded'), [...two, one('', 'Neither', 'yielded')]);
  }

  #corrected() {
    const { type, data } = this.#entry;
    if (this.#fixer) return this.#fixer.read();
    if (type === wire.encounter) return this.#loser === (data.draw ? '' : data.loser) ? data : withLoser(data, this.#loser);
    if (type === wire.coat) return { ...data, stage: $('#fix-stage').value };
    const value = decimal($('#fix-kg').value);
    if (Number(value) === 0) return null;
    if (type === wire.weight) return { ...data, mass: kg(value) };
    const [item] = data.items;
    if (grams(item.eaten) === 0) return { ...data, items: [{ ...item, offered: kg(value) }] };
    const whole = grams(item.eaten) === grams(item.offered) || Number(value) * 1000 > grams(item.offered);
    return { ...data, items: [{ ...item, offered: whole ? kg(value) : item.offered, eaten: kg(value) }] };
  }

  #say(text) { $('#fix-say').textContent = text; }

  async #correct() {
    const data = this.#corrected();
    if (!data) return this.#say('Write the right amount in kg, such as 0.5.');
    if (typeof data === 'string') return this.#say(data);
    if (JSON.stringify(data) === JSON.stringify(this.#entry.data)) return this.#say('Nothing is changed yet. Change it, or take the entry out.');
    if (!this.#reason) return this.#say('Say why, for those who read it later.');
    return this.#save(wire.corrected, { entry: this.#entry.id, data, reason: this.#reason }, `Put right to ${this.#rightWords(data)}: ${this.#entry.text}`);
  }

  #rightWords(data) {
    if (this.#fixer) return this.#fixer.words(data);
    if (this.#entry.type === wire.encounter) return encounterWords(data, this.#name);
    return data.stage ? `coat ${data.stage}` : `${decimal($('#fix-kg').value)}\u00a0kg`;
  }

  async #withdraw() {
    if (!this.#reason) return this.#say('Say why, for those who read it later.');
    return this.#save(wire.withdrawn, { entry: this.#entry.id, reason: this.#reason }, `Taken out: ${this.#entry.text}`);
  }

  async #save(type, data, text) {
    this.#dialog.close();
    await this.#deck.save(type, data, text, this.#entry.animals, { facility: this.#entry.facility, at: this.#deck.now() });
  }
}
