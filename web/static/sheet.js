// The sheet: who lives at the facility, what each is to eat and has eaten, and
// who is looking. It comes from the server and is kept, so that the Deck works
// with no line. What this phone logged since is added on top.

import { keep, kept } from './db.js';
import { grams, wire } from './fact.js';

const patience = 15_000;
const blank = { visitor: { name: '', records: false }, notices: [], facility: { code: '', name: '', zone: 'UTC' }, facilities: [], up_to: 0, animals: [], foods: [], behaviours: [], waters: [], quantities: [] };

const formats = new Map();

/** A format of a zone, made once: making one costs more than using it. */
function format(locale, zone, options) {
  const key = `${locale} ${zone} ${Object.keys(options)}`;
  if (!formats.has(key)) formats.set(key, new Intl.DateTimeFormat(locale, { timeZone: zone, ...options }));
  return formats.get(key);
}

/** The date of a moment in a zone, as 2026-03-01. */
export const dayIn = (at, zone) => format('en-CA', zone, { year: 'numeric', month: '2-digit', day: '2-digit' }).format(at);

export const weekday = (at, zone) => format('en-GB', zone, { weekday: 'short' }).format(at);

export const longDate = (at, zone) => format('en-GB', zone, { day: 'numeric', month: 'long' }).format(at);

/** The time of a moment in a zone: 16:20 today, Tue 16:20 before. */
export function clock(at, zone) {
  const time = format('en-GB', zone, { hour: '2-digit', minute: '2-digit' }).format(at);
  return dayIn(at, zone) === dayIn(Date.now(), zone) ? time : `${weekday(at, zone)} ${time}`;
}

export class Sheet extends EventTarget {
  data = blank;
  fresh = false; // heard from the server since the page was last looked at
  trouble = '';
  offset = 0; // ms that the server's clock is ahead of this phone's

  get visitor() { return this.data.visitor; }
  get facility() { return this.data.facility; }
  get zone() { return this.data.facility.zone; }

  /** Shows what was kept; the server is asked afterwards. */
  async start(facility) {
    this.data = (await kept(`sheet ${facility}`)) ?? blank;
    this.offset = this.data.offset ?? 0;
    this.#changed();
  }

  #changed() { this.dispatchEvent(new Event('change')); }

  async choose(facility) {
    const before = this.data;
    const other = await kept(`sheet ${facility}`);
    this.fresh = false;
    this.data = other ?? { ...blank, visitor: before.visitor, facilities: before.facilities, facility: before.facilities.find((f) => f.code === facility) ?? blank.facility };
    this.#changed();
    return this.refresh(facility);
  }

  /** Asks the server for the sheet; says whether it came. */
  async refresh(facility = this.facility.code) {
    const asked = Date.now();
    try {
      const res = await fetch(`/deck/sheet.json?facility=${encodeURIComponent(facility)}`, { headers: { Accept: 'application/json' }, cache: 'no-store', signal: AbortSignal.timeout(patience) });
      const json = (res.headers.get('Content-Type') ?? '').includes('application/json');
      if (res.status === 404 && facility !== '') return this.refresh('');
      if (res.status === 401 || res.redirected || (res.ok && !json)) return this.#failed('sign-in');
      if (!res.ok) return this.#failed(`The server answered ${res.status}`);
      const data = await res.json();
      const overtaken = facility !== '' && !['', facility].includes(this.facility.code); // another was chosen meanwhile
      if (!overtaken) await this.#take(data, asked);
      return true;
    } catch {
      return this.#failed('offline');
    }
  }

  #failed(trouble) {
    this.trouble = trouble;
    this.#changed();
    return false;
  }

  async #take(data, asked) {
    const answered = Date.now();
    this.offset = Date.parse(data.now) - Math.round((asked + answered) / 2);
    this.data = { ...data, offset: this.offset };
    this.fresh = true;
    this.trouble = '';
    this.#changed();
    await keep(`sheet ${data.facility.code}`, this.data);
    await keep('facility', data.facility.code);
  }

  animal(id) { return this.data.animals.find((a) => a.id === id); }
  food(id) { return this.data.foods.find((f) => f.id === id); }
  behavioursOf(id) { return this.data.behaviours.filter((b) => b.animal === id); }

  /** The foods of an animal's ration first, then the others. */
  foodsFor(animal) {
    const planned = animal.ration.map((r) => r.food);
    const place = (f) => (planned.includes(f.id) ? planned.indexOf(f.id) : planned.length);
    return [...this.data.foods].sort((a, b) => place(a) - place(b));
  }

  /** Grams of each food eaten today: the server's, and this phone's since. */
  eaten(animal, entries) {
    const today = dayIn(Date.now() + this.offset, this.zone);
    const out = {};
    const add = (items, sign) => { for (const i of items ?? []) out[i.food] = (out[i.food] ?? 0) + sign * grams(i.eaten); };
    if (this.data.now && dayIn(Date.parse(this.data.now), this.zone) === today) Object.assign(out, animal.eaten);
    const feeds = entries.filter((e) => this.counts(e) && e.fact.type === wire.feed && e.fact.data.animal === animal.id && isOn(e, today, this.zone));
    if (feeds.length === 0) return out;
    const fixes = entries.filter((e) => this.counts(e) && e.fact.data.entry);
    for (const e of feeds) {
      const own = fixes.filter((x) => x.fact.data.entry === e.id);
      if (this.knows(e)) add(itemsAfter(e, own.filter((x) => this.knows(x))), -1);
      add(itemsAfter(e, own), 1);
    }
    return out;
  }

  /** Whether an entry of this phone is the facility's, and neither refused nor set aside. */
  counts(e) { return e.fact.facility === this.facility.code && e.state !== 'aside' && e.state !== 'refused'; }

  /** Whether an entry is in the server's figures of this sheet. */
  knows(e) { return e.state === 'recorded' && e.receipt.number <= this.data.up_to; }
}

/** Whether an entry is of a day; most are far from it and need no calendar. */
function isOn(e, day, zone) {
  const at = Date.parse(e.fact.time);
  return Math.abs(Date.now() - at) < 48 * 3600_000 && dayIn(at, zone) === day;
}

/** What was fed, as its corrections say; nothing if it was withdrawn. */
function itemsAfter(e, fixes) {
  const last = [...fixes].sort((a, b) => b.saved - a.saved)[0];
  if (!last) return e.fact.data.items;
  return last.fact.type === wire.withdrawn ? [] : last.fact.data.data.items;
}
