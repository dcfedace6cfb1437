// Coat: where new coat shows, and one touch for how much.

import { $, $$, press } from './dom.js';
import { wire } from './fact.js';
import { longDate } from './sheet.js';

export class CoatPad {
  #deck;
  #sure = ''; // the animal and stage that were asked about

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
    if (!this.#sure.startsWith(`${this.#deck.animal?.id} `)) $('#coat-say').textContent = '';
  }

  /** Why a stage is odd: new coat does not grow old, but for the next molt. */
  #doubt(stage) {
    const last = this.#deck.animal.coat;
    if (!last || Number(stage) >= Number(last.stage) || (last.stage === '5' && stage === '0')) return '';
    const words = $(`[data-stage="${last.stage}"]`).dataset.words;
    return `◆ ${words} on ${longDate(Date.parse(last.time), this.#deck.sheet.zone)}, and less now. Right? Press again.`;
  }

  #score(b) {
    const { draft, animal } = this.#deck;
    const asked = `${animal.id} ${b.dataset.stage}`;
    const odd = this.#sure === asked ? '' : this.#doubt(b.dataset.stage);
    this.#sure = odd ? asked : '';
    $('#coat-say').textContent = odd;
    if (odd) return;
    const data = { animal: animal.id, stage: b.dataset.stage };
    if (draft.regions.length > 0) data.regions = draft.regions;
    this.#deck.change({ regions: [] });
    return this.#deck.save(wire.coat, data, `Coat ${b.dataset.words}`);
  }
}
