// Where animals live: the enclosures of the facility that have animals, and the
// touch that chooses one of them to watch or scan.

import { button, el, fill, tape } from './dom.js';

/** The enclosures with animals, in the order in which the animals stand. */
function enclosures({ data }) {
  const out = new Map();
  for (const a of data.animals.filter((x) => x.enclosure !== '')) {
    if (!out.has(a.enclosure)) out.set(a.enclosure, { id: a.enclosure, name: a.pool || a.enclosure, animals: [] });
    out.get(a.enclosure).animals.push(a);
  }
  return [...out.values()];
}

/** The enclosure that was chosen; where there is only one it needs no touch. */
export function chosen(deck) {
  const all = enclosures(deck.sheet);
  return all.length === 1 ? all[0] : all.find((e) => e.id === deck.draft.enclosure);
}

/** Draws the enclosures to choose from, or the chosen one and the way back. */
export function drawWhere(place, nowhere, deck) {
  const all = enclosures(deck.sheet);
  const here = chosen(deck);
  nowhere.hidden = all.length > 0;
  const choose = (id) => { deck.change({ enclosure: id, view: null, groups: [[]], group: 0, away: [] }); deck.draw(); };
  const one = (e) => button({ 'data-enclosure': e.id, 'aria-pressed': 'false' }, e.name, el('small', {}, `${e.animals.length} ${e.animals.length === 1 ? 'animal' : 'animals'}`));
  const other = () => button({ 'data-enclosure': '' }, here.name, el('small', {}, 'change'));
  const shown = !here ? all.map(one) : all.length > 1 ? [other()] : [];
  for (const b of shown) b.addEventListener('click', () => choose(b.dataset.enclosure));
  fill(place, shown);
}

/** The button of an animal among others, with a word of where it stands. */
export function face(a, attributes, word = '') {
  return button({ class: 'animal', ...attributes }, tape(a.tape), el('span', {}, a.name, word ? el('small', {}, word) : ''));
}
