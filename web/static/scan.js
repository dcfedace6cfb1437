// Scan: one look at who is beside whom. A touch puts an animal in the group at
// hand; everybody is placed, alone or not seen before it can be saved.

import { $, button, closable, el, fill } from './dom.js';
import { chosen, drawWhere, face } from './enclosure.js';
import { stated, wire } from './fact.js';

export const usualRule = 'within one body length';

/** What a scan says: groups of 2 and 3, 1 alone, 1 not seen. */
function groupWords(groups, away) {
  const sizes = groups.filter((g) => g.length > 1).map((g) => g.length).sort((a, b) => b - a);
  const alone = groups.filter((g) => g.length === 1).length;
  const together = sizes.length === 0 ? '' : sizes.length === 1 ? `a group of ${sizes[0]}` : `groups of ${sizes.slice(0, -1).join(', ')} and ${sizes.at(-1)}`;
  return [together, alone > 0 && `${alone} alone`, away.length > 0 && `${away.length} not seen`].filter(Boolean).join(', ');
}

export class ScanPad {
  #deck;

  constructor(deck) {
    this.#deck = deck;
    closable($('#rule'));
    $('#rule-open').addEventListener('click', () => { $('#rule-text').value = deck.draft.rule; $('#rule').showModal(); });
    $('#rule-ok').addEventListener('click', () => { this.#set({ rule: $('#rule-text').value.trim() || usualRule }); $('#rule').close(); });
    $('#rest-alone').addEventListener('click', () => this.#restAlone());
    $('#rest-away').addEventListener('click', () => this.#set({ away: [...deck.draft.away, ...this.#left()] }));
    $('#same-groups').addEventListener('click', () => this.#again());
    $('#scan-save').addEventListener('click', () => this.#save());
  }

  #set(some) {
    this.#deck.change(some);
    this.draw();
  }

  #left() {
    const { groups, away } = this.#deck.draft;
    return chosen(this.#deck).animals.map((a) => a.id).filter((id) => !away.includes(id) && !groups.flat().includes(id));
  }

  draw() {
    drawWhere($('#scan-where'), $('#scan-nowhere'), this.#deck);
    const here = chosen(this.#deck);
    const { rule } = this.#deck.draft;
    $('#rule-says').textContent = rule;
    $('#scan-who').hidden = !here;
    if (!here) return;
    this.#stay(here);
    const left = this.#left().length;
    fill($('#scanned'), here.animals.map((a) => this.#animalButton(a)));
    fill($('#groups'), this.#groupButtons());
    this.#drawRest(left);
    this.#drawSave(left);
  }

  /** Who moved house since the draft was made is in no group here any more. */
  #stay(here) {
    const { groups, away } = this.#deck.draft;
    const lives = (id) => here.animals.some((a) => a.id === id);
    if ([...groups.flat(), ...away].every(lives)) return;
    this.#deck.change({ groups: groups.map((g) => g.filter(lives)), away: away.filter(lives) });
  }

  /** Groups are numbered as they stand; who is alone takes no number. */
  #number(i) { return this.#deck.draft.groups.filter((g, j) => j <= i && (g.length !== 1 || j === this.#deck.draft.group)).length; }

  #animalButton(a) {
    const { groups, group, away } = this.#deck.draft;
    const at = groups.findIndex((g) => g.includes(a.id));
    const word = away.includes(a.id) ? 'not seen' : at < 0 ? 'to place' : groups[at].length === 1 ? 'alone' : `group ${this.#number(at)}`;
    const b = face(a, { 'data-scan': a.id, 'aria-pressed': String(at === group) }, word);
    b.addEventListener('click', () => this.#touch(a.id));
    return b;
  }

  /** Into the group at hand, or out of it. */
  #touch(id) {
    const { groups, group, away } = this.#deck.draft;
    const inIt = groups[group].includes(id);
    const without = groups.map((g) => g.filter((x) => x !== id));
    if (!inIt) without[group].push(id);
    this.#set({ groups: without, away: away.filter((x) => x !== id) });
  }

  #groupButtons() {
    const { groups, group } = this.#deck.draft;
    const one = (g, i) => {
      const b = button({ 'data-group': String(i), 'aria-pressed': String(i === group) }, `Group ${this.#number(i)}`, el('small', {}, g.length === 0 ? 'empty' : g.length === 1 ? 'alone' : `${g.length} in it`));
      b.addEventListener('click', () => this.#set({ group: i }));
      return b;
    };
    const next = button({ id: 'next-group', disabled: groups[group].length === 0 }, 'Next group');
    next.addEventListener('click', () => this.#next());
    return [...groups.map((g, i) => (g.length !== 1 || i === group ? one(g, i) : null)).filter(Boolean), next];
  }

  #next() {
    const groups = this.#deck.draft.groups.filter((g) => g.length > 0);
    this.#set({ groups: [...groups, []], group: groups.length });
  }

  #restAlone() {
    const groups = this.#deck.draft.groups.filter((g) => g.length > 0);
    this.#set({ groups: [...groups, ...this.#left().map((id) => [id])], group: Math.max(0, groups.length - 1) });
  }

  #drawRest(left) {
    for (const id of ['#rest-alone', '#rest-away']) {
      $(id).disabled = left === 0;
      $('small', $(id)).textContent = left === 0 ? 'all are placed' : `the ${left} left`;
    }
  }

  #drawSave(left) {
    const { groups, group, away, lastScan } = this.#deck.draft;
    const none = groups.flat().length === 0;
    $('#scan-ask').textContent = left > 0 ? `Group ${this.#number(group)}: who is together?` : none ? 'Nobody seen: nothing to save.' : 'Everybody is placed.';
    $('#scan-save').disabled = left > 0 || none;
    $('small', $('#scan-save')).textContent = left > 0 ? `${left} to place` : groupWords(groups, away);
    $('#same-groups').disabled = lastScan?.enclosure !== chosen(this.#deck).id || !none || away.length > 0;
  }

  #again() {
    const { groups, away } = this.#deck.draft.lastScan;
    this.#set({ groups, away, group: 0 });
  }

  #save() {
    const { draft, sheet } = this.#deck;
    const here = chosen(this.#deck);
    const groups = draft.groups.filter((g) => g.length > 0);
    const { running } = this.#deck.watch;
    const watched = running?.facility === sheet.facility.code && running.enclosure === here.id;
    const data = { enclosure: here.id, groups: groups.map((animals) => ({ animals })), ...stated({ watch: watched && running.watch }), rule: draft.rule };
    this.#deck.change({ groups: [[]], group: 0, away: [], lastScan: { enclosure: here.id, groups, away: draft.away } });
    return this.#deck.save(wire.scan, data, `Scan of ${here.name}, ${groupWords(groups, draft.away)}`, []);
  }
}
