// Coat: where new coat shows, and one touch for how much.

import { $$, press } from './dom.js';
import { wire } from './fact.js';

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
