// Numbers by hand: the keys, and the question for an amount of food.

import { $, button, closable } from './dom.js';
import { decimal } from './fact.js';

/** Draws the keys into a place; each touch is given to typed. */
export function keypad(place, typed) {
  for (const k of ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'x']) {
    const key = button({ class: 'big', 'data-key': k, 'aria-label': k === 'x' ? 'Rub out' : undefined }, k === 'x' ? '⌫' : k);
    key.addEventListener('click', () => typed(k));
    place.append(key);
  }
}

/** A key on a real keyboard as one of ours, '' if it is none; comma is a point. */
export function keyOf(e) {
  if (e.ctrlKey || e.metaKey || e.altKey) return '';
  if (/^[0-9]$/.test(e.key)) return e.key;
  return { '.': '.', ',': '.', Backspace: 'x' }[e.key] ?? '';
}

/** The text after one more key. */
export function typedOn(text, key) {
  if (key === 'x') return text.slice(0, -1);
  if (key === '.' && text.includes('.')) return text;
  if (text.length >= 7) return text;
  if (key === '.' && text === '') return '0.';
  return text + key;
}

/** Asks for kilograms. refuse says why a value can't be, doubt asks once. */
export class AmountAsk {
  #dialog = $('#amount');
  #text = '';
  #sure = '';
  #ask = null;

  constructor() {
    keypad($('#amount-keys'), (k) => this.#type(k));
    closable(this.#dialog);
    this.#dialog.addEventListener('keydown', (e) => {
      const k = keyOf(e);
      if (k) { e.preventDefault(); this.#type(k); }
    });
    this.#dialog.addEventListener('close', () => { if (!this.#dialog.open) this.#answer(''); }); // it may be open again for the next question
    $('#amount-ok').addEventListener('click', () => this.#ok());
  }

  /** Resolves with a plain decimal, '' when it was left. */
  ask({ question, refuse = () => '', doubt = () => '' }) {
    this.#text = '';
    this.#sure = '';
    $('#amount-ask').textContent = question;
    this.#draw('');
    this.#dialog.showModal();
    return new Promise((done) => { this.#ask = { refuse, doubt, done }; });
  }

  #answer(value) {
    const ask = this.#ask;
    this.#ask = null;
    ask?.done(value);
  }

  #type(k) {
    this.#text = typedOn(this.#text, k);
    this.#sure = '';
    this.#draw('');
  }

  #draw(note) {
    const value = decimal(this.#text);
    $('#amount-kg').textContent = this.#text || '0';
    $('#amount-say').textContent = note;
    $('#amount-say').classList.toggle('odd', note !== '');
    $('#amount-ok').disabled = value === '';
    $('#amount-ok').textContent = value === '' ? 'Save' : `${this.#sure ? 'Yes, ' : 'Save '}${value}\u00a0kg`;
  }

  #ok() {
    const value = decimal(this.#text);
    const no = this.#ask.refuse(value);
    if (no) return this.#draw(no);
    const odd = this.#sure === value ? '' : this.#ask.doubt(value);
    if (odd) {
      this.#sure = value;
      return this.#draw(`◆ ${odd} Right?`);
    }
    this.#answer(value);
    return this.#dialog.close();
  }
}
