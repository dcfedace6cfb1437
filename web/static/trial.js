// Trial: the behaviour, its step, and one touch for what came of it.

import { $, $$, el, fill } from './dom.js';
import { dayIn } from './sheet.js';
import { wire } from './fact.js';

const outcomes = { met: 'met', missed: 'missed', no_try: 'no try', swam_off: 'swam off' };

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
    fill($('#behaviour'), all.map((x) => el('option', { value: x.id, selected: x.id === b.id }, x.name)));
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
