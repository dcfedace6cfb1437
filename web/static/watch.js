// A watch: a time in which somebody looks at an enclosure on purpose. It runs
// from its start until its record is among the entries of this phone, so a stop
// that is taken back lets it run on. It lies in the phone's database from the
// first moment on, and outlives the page.

import { keep, kept } from './db.js';
import { wire } from './fact.js';

/** One after the other over all tabs, so that none counts on top of an old count. */
function alone(run) {
  return navigator.locks ? navigator.locks.request('haulout-watch', run) : run();
}

export class Watch extends EventTarget {
  #queue;
  #kept = null;
  #others = new BroadcastChannel('haulout-watch');

  constructor(queue) {
    super();
    this.#queue = queue;
    this.#others.onmessage = () => this.load();
    queue.addEventListener('change', () => this.#settle());
  }

  async load() { this.#took((await kept('watch')) ?? null); }

  #took(watch) {
    this.#kept = watch;
    this.dispatchEvent(new Event('change'));
  }

  /** The watch that runs, or null. */
  get running() { return this.#runs(this.#kept) ? this.#kept : null; }

  #runs(watch) { return Boolean(watch) && !this.#queue.entries.has(watch.entry); }

  /** Changes the watch where it is kept; undefined leaves it as it is. */
  async #change(make) {
    await alone(async () => {
      const now = make((await kept('watch')) ?? null);
      if (now === undefined) return;
      await keep('watch', now);
      this.#took(now);
    });
    this.#others.postMessage('changed');
  }

  /** Begins a watch, unless one runs; the one before can't be taken back any more. */
  begin(watch) {
    const before = this.#queue.entries.get(this.#kept?.entry);
    if (before && this.#queue.undoable(before)) this.#queue.again(before.id);
    return this.#change((old) => (this.#runs(old) ? undefined : watch));
  }

  count(signal, by, at) {
    return this.#change((old) => (old ? { ...old, touched: at.getTime(), counts: { ...old.counts, [signal]: Math.max(0, (old.counts[signal] ?? 0) + by) } } : undefined));
  }

  drop() { return this.#change(() => null); }

  /** Lets go of a watch whose record can't be taken back any more. */
  #settle() {
    const entry = this.#queue.entries.get(this.#kept?.entry);
    if (!entry || this.#queue.undoable(entry)) return;
    const { id } = entry;
    this.#kept = null;
    this.#change((old) => (old?.entry === id ? null : undefined));
  }

  /** Whether the running watch is one in which these animals were watched at a moment. */
  sees(animals, facility, at) {
    const { running } = this;
    if (!running || running.facility !== facility || at < running.start) return false;
    const seen = (id) => running.animals.includes(id);
    return running.method === 'focal' ? animals.some(seen) : animals.every(seen);
  }

  /** The encounters of the running watch that this phone holds. */
  encounters() {
    const list = this.#queue.list().filter((e) => e.state !== 'aside');
    const gone = new Set(list.filter((e) => e.fact.type === wire.withdrawn).map((e) => e.fact.data.entry));
    return list.filter((e) => e.fact.data.watch === this.running?.watch && e.fact.type === wire.encounter && !gone.has(e.id));
  }
}
