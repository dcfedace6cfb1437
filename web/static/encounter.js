// Yield: an encounter of two, what was done, and who moved off. The last touch
// saves; what stands before it is for those who saw more.

import { $, $$, button, closable, el, fill, press } from './dom.js';
import { stated, wire } from './fact.js';
import { face } from './enclosure.js';

export const signalWords = { displaced: 'displaced', threat: 'threat', vocal: 'call', chase: 'chase', lunge: 'lunge', bite: 'bite', supplant: 'supplant', other: 'other' };
export const large = (word) => word[0].toUpperCase() + word.slice(1);
const causeWords = { keeper: 'brought about by a keeper', gate: 'brought about by a gate', coalition: 'a third animal in it' };
const canBeUnanswered = ['threat', 'vocal', 'chase', 'lunge', 'bite'];
const unclear = 'could not tell who yielded';
const vet = 'tell the veterinarian';

/** What an encounter says, in one line. */
export function encounterWords(data, name) {
  const [winner, loser] = [name(data.winner), name(data.loser)];
  const end = data.text === unclear ? 'could not tell' : 'neither yielded';
  const what = data.draw ? `${winner} and ${loser}, ${end}` : `${loser} yielded to ${winner}`;
  return [what, signalWords[data.signal], causeWords[data.cause], data.injury && `injury, ${vet}`].filter(Boolean).join(', ');
}

/** The encounter with another end: the loser's id, or '' where neither yielded. */
export function withLoser({ draw, text, ...data }, loser) {
  const kept = text && text !== unclear ? { text } : {};
  if (!loser) return { ...data, ...kept, draw: true };
  return { ...data, ...kept, loser, winner: loser === data.winner ? data.loser : data.winner };
}

/** The part of a pad that asks what two animals did; one pad shows it at a time. */
export class Encounter {
  #deck;
  #two = [];
  #facility = '';
  #leave = () => undefined;

  constructor(deck) {
    this.#deck = deck;
    closable($('#more'));
    for (const name of ['signal', 'place', 'intensity', 'cause']) {
      for (const b of $$(`[data-${name}]`)) b.addEventListener('click', () => this.#set({ [name]: deck.draft[name] === b.dataset[name] ? '' : b.dataset[name] }));
    }
    $('#injury').addEventListener('click', () => this.#set({ injury: !deck.draft.injury }));
    $('#more-open').addEventListener('click', () => $('#more').showModal());
    $('#not-these').addEventListener('click', () => this.#leave());
    for (const b of $$('[data-yielded]')) b.addEventListener('click', () => this.#seen(b.dataset.yielded));
  }

  #set(some) {
    this.#deck.change(some);
    this.#show();
  }

  /** Shows it in a place, for two animals of a facility; leave goes back to choosing them. */
  draw(place, two, facility, leave) {
    this.#two = two;
    this.#facility = facility;
    this.#leave = leave;
    if ($('#encounter').parentNode !== place) place.append($('#encounter'));
    this.#show();
  }

  #show() {
    const { draft } = this.#deck;
    const [one, other] = this.#two;
    for (const name of ['signal', 'place', 'intensity', 'cause']) {
      for (const b of $$(`[data-${name}]`)) press(b, b.dataset[name] === draft[name]);
    }
    press($('#injury'), draft.injury);
    for (const node of $$('[data-vet]')) {
      node.hidden = !draft.injury;
      node.textContent = draft.injury ? '▲ Injury: tell the veterinarian.' : '';
    }
    $('#not-these').replaceChildren(`${one.name} and ${other.name}`, el('small', {}, 'change'));
    $('#more-says').textContent = [draft.intensity, causeWords[draft.cause], draft.injury && 'injury'].filter(Boolean).join(', ') || 'force, cause, injury';
    $('[data-me]').textContent = one.name;
    $('[data-them]').textContent = other.name;
    $('#unanswered').textContent = large(signalWords[this.#unanswered()]);
  }

  #unanswered() { return canBeUnanswered.includes(this.#deck.draft.signal) ? this.#deck.draft.signal : 'threat'; }

  /** A threat or call that made nobody move is no win: neither yielded. */
  #seen(who) {
    const { draft } = this.#deck;
    const [one, other] = this.#two;
    const [winner, loser] = who === 'self' ? [other, one] : [one, other];
    const { signal, intensity, place, cause, injury } = draft;
    const data = stated({
      winner: winner.id, loser: loser.id, draw: who !== 'self' && who !== 'other', signal: who === 'unanswered' ? this.#unanswered() : signal,
      intensity, place, cause, injury, ...this.#deck.metIn(this.#two, this.#facility), text: who === 'unclear' && unclear,
    });
    this.#leave();
    this.#deck.change({ signal: '', intensity: '', cause: '', injury: false });
    const names = { [one.id]: one.name, [other.id]: other.name };
    return this.#deck.save(wire.encounter, data, encounterWords(data, (id) => names[id]), [one.id, other.id], { facility: this.#facility });
  }
}

/** The tab of an animal's card: whom it met. */
export class YieldPad {
  #deck;
  #encounter;
  #all = ''; // the animal for which everyone of the facility is shown

  constructor(deck, encounter) {
    this.#deck = deck;
    this.#encounter = encounter;
  }

  /** Those of the same enclosure; everyone where that is asked for or nobody is near. */
  #others() {
    const { sheet, animal } = this.#deck;
    const all = sheet.data.animals.filter((a) => a.id !== animal.id);
    const near = all.filter((a) => a.enclosure !== '' && a.enclosure === animal.enclosure);
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
    $('#yield-whom').hidden = Boolean(other);
    $('#yield-what').hidden = !other;
    if (other) return this.#encounter.draw($('#yield-what'), [animal, other], sheet.facility.code, () => this.#choose(''));
    const others = this.#others();
    const more = others.length + 1 < sheet.data.animals.length ? [this.#elseButton()] : [];
    $('#yield-ask').textContent = `${animal.name} met whom?`;
    return fill($('#others'), [...others.map((a) => this.#otherButton(a)), ...more]);
  }

  #otherButton(a) {
    const b = face(a, { 'data-other': a.id });
    b.addEventListener('click', () => this.#choose(a.id));
    return b;
  }

  #choose(other) {
    this.#deck.change({ other });
    this.draw();
    $('#pad-yield button:not([hidden] *)')?.focus({ preventScroll: true });
  }
}
