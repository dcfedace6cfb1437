// Yield: an encounter of two, and who moved off.

import { $, $$, button, el, fill, press, tape } from './dom.js';
import { wire } from './fact.js';

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
    fill($('#others'), [...others.map((a) => this.#otherButton(a)), ...more]);
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
