// What can be put right of a check, a closed finding, a dose and a water test:
// the fields to fill in, and the data that they then say.

import { button, el, press } from './dom.js';
import { checkWords, outcomes } from './check.js';
import { doseWords, takenWords } from './dose.js';
import { resultWords, waterWords, whatWords } from './water.js';
import { decimal, stated, wire } from './fact.js';

const large = (text) => text[0].toUpperCase() + text.slice(1);

/** A question with a button for each answer; value() says which is chosen. */
function choice(ask, words, chosen, name) {
  let value = chosen;
  const buttons = Object.entries(words).map(([key, word]) => {
    const b = button({ class: 'btn', [`data-${name}`]: key, 'aria-pressed': String(key === chosen) }, large(word));
    b.addEventListener('click', () => { value = key; buttons.forEach((x) => press(x, x === b)); });
    return b;
  });
  return { node: el('div', {}, el('p', { class: 'ask' }, ask), el('div', { class: 'g c2', role: 'group', 'aria-label': ask }, ...buttons)), value: () => value };
}

function field(label, value, attributes = {}) {
  const input = el('input', { class: 'field', autocomplete: 'off', ...attributes });
  input.value = value;
  return { node: el('label', { class: 'pick-at' }, label, input), value: () => input.value.trim() };
}

function takenFix(data) {
  const taken = choice('How much was taken?', takenWords, data.taken ?? 'all', 'fix-taken');
  return { nodes: [taken.node], read: () => ({ ...data, taken: taken.value() }), words: doseWords };
}

function outcomeFix(data) {
  const outcome = choice('Why is it closed?', outcomes, data.outcome, 'fix-outcome');
  return { nodes: [outcome.node], read: () => ({ ...data, outcome: outcome.value() }), words: (d) => `closed, ${d.region}: ${outcomes[d.outcome]}` };
}

/** The words of each finding; one that is left empty was none. */
function findingsFix(data) {
  const findings = data.findings ?? [];
  const fields = findings.map((f) => field(`${large(f.region)}, seen there`, f.word, { 'data-fix-word': f.region, maxlength: '300' }));
  const read = () => {
    const { findings: before, ...rest } = data;
    const kept = findings.map((f, i) => ({ ...f, word: fields[i].value() })).filter((f) => f.word);
    return kept.length > 0 ? { ...rest, findings: kept } : rest;
  };
  return { nodes: fields.map((f) => f.node), read, words: checkWords };
}

const bounds = { '': 'As written', below: 'Less than', above: 'More than' };

function readingFix(r) {
  const value = field(`${large(whatWords(r.what))}, now ${resultWords(r)}`, r.value.value, { 'data-fix-value': r.what, inputmode: 'decimal' });
  const bound = r.bound ? choice('As a bound', bounds, r.bound, 'fix-bound') : null;
  return {
    nodes: [value.node, bound?.node].filter(Boolean),
    read: () => {
      const text = value.value().replace('−', '-');
      const figure = decimal(text.replace(/^-/, ''));
      const { bound: before, ...rest } = r;
      const sign = text.startsWith('-') && Number(figure) !== 0 ? '-' : '';
      return figure === '' ? null : { ...rest, value: { ...r.value, value: `${sign}${figure}` }, ...stated({ bound: bound?.value() }) };
    },
  };
}

function waterFix(data, name) {
  const rows = data.readings.map(readingFix);
  const read = () => {
    const readings = rows.map((r) => r.read());
    return readings.includes(null) ? 'Write each value as a number, such as 7.9.' : { ...data, readings };
  };
  return { nodes: rows.flatMap((r) => r.nodes), read, words: (d) => waterWords(d, name(d.enclosure)) };
}

/** By kind: the nodes to show, read() with the data or a word of what is wrong, and its words. */
export const fixers = { [wire.check]: findingsFix, [wire.closed]: outcomeFix, [wire.dose]: takenFix, [wire.water]: waterFix };
