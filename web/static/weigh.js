// Weigh: digits, dry or wet, save.

import { $, press } from './dom.js';
import { keyOf, keypad, typedOn } from './amount.js';
import { longDate, weekday } from './sheet.js';
import { decimal, kg, wire } from './fact.js';

const heaviest = 4500; // kg, as the server's own limit
const lightest = 0.5;

export class WeighPad {
  #deck;
  #sure = '';

  constructor(deck) {
    this.#deck = deck;
    keypad($('#keys'), (k) => this.#type(k));
    $('#wet').addEventListener('click', () => { deck.change({ wet: !deck.draft.wet }); this.draw(); });
    $('#save-weight').addEventListener('click', () => this.#save());
    document.addEventListener('keydown', (e) => this.#key(e));
  }

  #key(e) {
    if (this.#deck.draft.tab !== 'weigh' || !this.#deck.animal || document.querySelector('dialog[open]') || e.target.matches('input, select')) return;
    const k = keyOf(e);
    if (k) { e.preventDefault(); this.#type(k); }
  }

  #type(k) {
    this.#sure = '';
    this.#deck.change({ kg: typedOn(this.#deck.draft.kg, k) });
    this.draw();
  }

  draw(note = '') {
    const { draft, animal } = this.#deck;
    const value = decimal(draft.kg);
    $('#kg').textContent = draft.kg || '0';
    $('#kg-say').textContent = note || this.#last(animal.weight);
    $('#kg-say').classList.toggle('odd', note !== '');
    press($('#wet'), draft.wet);
    $('#save-weight').disabled = Number(value) === 0;
    $('#save-weight').textContent = Number(value) === 0 ? 'Save weight' : `${this.#sure ? 'Yes, ' : 'Save '}${value}\u00a0kg`;
  }

  #last(w) {
    if (!w) return 'No weight on record';
    return `Last ${w.kg.toFixed(1)} kg, ${longDate(Date.parse(w.time), this.#deck.sheet.zone)}`;
  }

  /** Why a weight can't be, or '' */
  #refuse(value) {
    if (Number(value) > heaviest) return `Over ${heaviest} kg: heavier than any seal or sea lion. Check the digits.`;
    if (Number(value) < lightest) return `Under ${lightest} kg: lighter than any pup. Check the digits.`;
    return '';
  }

  /**
   * A weight well outside the animal's last 30 days is read back and asked
   * about once; 5 % beyond their least and greatest is common practice without
   * a source. A true odd value is never blocked.
   */
  #doubt(value) {
    const w = this.#deck.animal.weight;
    if (!w) return '';
    const n = Number(value);
    if (n >= w.least * 0.95 && n <= w.most * 1.05) return '';
    const off = Math.abs(n - w.kg).toFixed(1);
    const zone = this.#deck.sheet.zone;
    const at = Date.parse(w.time);
    const day = Date.now() - at < 6 * 24 * 3600_000 ? weekday(at, zone) : longDate(at, zone);
    return `${off} kg ${n < w.kg ? 'under' : 'over'} ${day}.`;
  }

  #save() {
    const { draft, animal } = this.#deck;
    const value = decimal(draft.kg);
    const no = this.#refuse(value);
    if (no) return this.draw(no);
    const odd = this.#sure === value ? '' : this.#doubt(value);
    if (odd) {
      this.#sure = value;
      return this.draw(`◆ ${odd} Right?`);
    }
    this.#sure = '';
    const coat = draft.wet ? 'wet' : 'dry';
    this.#deck.change({ kg: '', wet: false });
    return this.#deck.save(wire.weight, { animal: animal.id, mass: kg(value), coat }, `Weight ${value} kg, ${coat}`);
  }
}
