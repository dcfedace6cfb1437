// The queue: entries wait here until the server has given a receipt for each.
// Nothing expires, nothing leaves without a receipt, and one refused entry
// never holds the others back.

import { allEntries, keep, kept, putEntries, removeEntry } from './db.js';
import { uuid7 } from './fact.js';
import { dropPhotos, photoFromText, photoToText, sweepPhotos } from './photo.js';
import { photosLeft, postPhoto, withDigest } from './photopost.js';
import { reportDue, reportOf } from './report.js';

const undoTime = 10_000;
const keepRecorded = 7 * 24 * 3600_000;
const batch = 200;
const patience = 30_000;

/** Answers after which a person must look: the server will never take it so. */
const refusals = new Set([400, 403, 409, 413, 415, 422]);

export class Queue extends EventTarget {
  entries = new Map();
  sending = new Set();
  trouble = ''; // why nothing goes out: offline, sign-in, or the server's words
  #sheet;
  #device;
  #sorted = null;
  #again = false;
  #busy = false;
  #photoTrouble = ''; // why a photo of this round is still here
  #others = new BroadcastChannel('haulout');

  constructor(sheet) {
    super();
    this.#sheet = sheet;
    this.#others.onmessage = () => this.load();
  }

  async start() {
    this.#device = await kept('device');
    if (!this.#device) await keep('device', (this.#device = uuid7().replaceAll('-', '').slice(-16)));
    await this.load();
    await this.#sweep();
  }

  async load() {
    this.entries = new Map((await allEntries()).map((e) => [e.id, e]));
    this.#changed();
  }

  #changed() {
    this.#sorted = null;
    this.dispatchEvent(new Event('change'));
  }

  async #put(list) {
    await putEntries(list);
    for (const e of list) this.entries.set(e.id, e);
    this.#others.postMessage('changed');
    this.#changed();
  }

  /** Every entry, the newest first. */
  list() { return (this.#sorted ??= [...this.entries.values()].sort((a, b) => b.saved - a.saved)); }
  waiting() { return this.list().filter((e) => e.state === 'waiting'); }
  needy() { return this.list().filter((e) => e.state === 'refused'); }

  /** Where an entry stands, in the words of data-state. */
  stateOf(e) {
    if (e.state === 'refused') return 'needs-you';
    if (e.state === 'waiting' && this.sending.has(e.id)) return 'sending';
    return e.state;
  }

  undoable(e, now = Date.now()) { return e.state === 'waiting' && e.hold > now && !this.sending.has(e.id); }

  /** Saves a fact on this phone; it is held back for as long as it can be undone. */
  async save(fact, { by, animals, text, photos = [] }) {
    const now = Date.now();
    const entry = { id: fact.id, state: 'waiting', fact, by, animals, text, saved: now, hold: now + undoTime, offset: this.#sheet.offset };
    if (photos.length > 0) entry.photos = photos;
    await this.#put([entry]);
    setTimeout(() => this.send(), undoTime + 50);
    return entry;
  }

  /** Takes an entry back while it is held; says whether that was still possible. */
  async undo(id) {
    const gone = await removeEntry(id, (e) => this.undoable(e));
    if (gone) await this.#forget({ id, ...this.entries.get(id) });
    this.#others.postMessage('changed');
    this.#changed();
    return gone;
  }

  async #forget(e) {
    this.entries.delete(e.id);
    await dropPhotos((e.photos ?? []).map((p) => p.id));
  }

  /** Sends what is due. One tab sends at a time. */
  async send() {
    if (this.#busy) { this.#again = true; return; }
    this.#busy = true;
    try {
      do {
        this.#again = false;
        await alone('haulout-send', () => this.#round());
      } while (this.#again);
    } finally {
      this.#busy = false;
    }
  }

  #due() {
    const now = Date.now();
    return this.waiting().filter((e) => e.hold <= now && e.by === this.#sheet.visitor.name).reverse();
  }

  async #round() {
    await this.load();
    if (this.waiting().length === 0 && !(await reportDue(this))) return this.#say(this.#sheet.trouble);
    if (!this.#sheet.fresh && !(await this.#sheet.refresh())) return this.#say(this.#sheet.trouble);
    if (await this.#sendDue()) await this.#report();
    return undefined;
  }

  /** Sends facility by facility; false where the line or the session is gone. */
  async #sendDue() {
    const tried = new Set();
    this.#photoTrouble = '';
    for (;;) {
      const due = this.#due().filter((e) => !tried.has(e.id));
      if (due.length === 0) break;
      const facility = due[0].fact.facility;
      const list = due.filter((e) => e.fact.facility === facility).slice(0, batch);
      for (const e of list) tried.add(e.id);
      const ready = await this.#ready(list);
      if (ready.length > 0 && !(await this.#sendList(ready))) return false;
    }
    this.#say(this.#photoTrouble);
    return !['offline', 'sign-in'].includes(this.#photoTrouble);
  }

  /** Those of a list whose photos are at the server; a photo holds up nothing but its own entry. */
  async #ready(list) {
    const out = [];
    for (const e of list) {
      const waits = this.#photoTrouble && photosLeft(e).length > 0; // one trouble a round is enough
      if (waits || this.#leansOn(e, out)) continue;
      const ready = await this.#handPhotos(e);
      if (ready) out.push(ready);
    }
    return out;
  }

  /** Whether an entry speaks of one that waits here and does not go out now. */
  #leansOn(e, going) {
    const other = this.entries.get(e.fact.data.entry ?? e.fact.data.check);
    return other?.state === 'waiting' && !going.some((g) => g.id === other.id);
  }

  /** The entry with its photos handed over, or nothing where one was not taken. */
  async #handPhotos(e) {
    let entry = e;
    for (const photo of photosLeft(e)) {
      this.sending.add(e.id);
      this.#changed();
      const answer = await postPhoto(photo.id, e.fact.facility, this.#device);
      this.sending.delete(e.id);
      if (answer.problem) await this.#put([{ ...entry, state: 'refused', problem: answer.problem }]);
      if (answer.trouble) this.#photoTrouble = answer.trouble;
      if (!answer.digest) return null;
      entry = withDigest(entry, photo, answer.digest);
      await this.#put([entry]); // what is sent again must name the same photo
    }
    return entry;
  }

  /** Tells the server how many entries could not be handed over, where that changed. */
  async #report() {
    if (this.#sheet.visitor.records === false || !(await reportDue(this))) return;
    const { facts, remember } = await reportOf(this, this.#sheet.offset);
    for (const fact of facts) {
      if (!(await this.#post([{ id: fact.id, fact }])).receipts) return;
    }
    await remember();
  }

  #say(trouble) {
    this.trouble = trouble;
    this.#changed();
  }

  /** Sends a list, one by one where the whole is refused; false ends the round. */
  async #sendList(list) {
    const answer = await this.#post(list);
    if (answer.receipts) {
      await this.#recorded(list, answer.receipts);
      return true;
    }
    if (!refusals.has(answer.status)) {
      this.#say(answer.trouble);
      return false;
    }
    if (list.length === 1) {
      await this.#put([{ ...list[0], state: 'refused', problem: answer.problem }]);
      return true;
    }
    for (const e of list) {
      if (!(await this.#sendList([e]))) return false;
    }
    return true;
  }

  async #post(list) {
    for (const e of list) this.sending.add(e.id);
    this.#changed();
    try {
      const res = await fetch('/api/v1/records', {
        method: 'POST',
        headers: { 'Content-Type': 'application/json', 'Haulout-Device': this.#device },
        body: JSON.stringify(list.map((e) => e.fact)),
        redirect: 'error',
        signal: AbortSignal.timeout(patience),
      });
      const body = await res.json().catch(() => ({}));
      if (res.ok && Array.isArray(body.receipts)) return { receipts: body.receipts };
      return { status: res.status, problem: problemOf(res.status, body), trouble: troubleOf(res.status, body) };
    } catch {
      return { status: 0, trouble: 'offline' };
    } finally {
      for (const e of list) this.sending.delete(e.id);
    }
  }

  async #recorded(list, receipts) {
    const byID = new Map(receipts.map((r) => [r.id, r]));
    const at = Date.now();
    const done = list.filter((e) => byID.has(e.id)).map((e) => ({ ...e, state: 'recorded', receipt: { ...byID.get(e.id), at }, problem: undefined }));
    await this.#put(done);
    await dropPhotos(done.flatMap((e) => (e.photos ?? []).map((p) => p.id)));
  }

  /** A person looked at a refused entry: send it again, or set it aside. */
  async again(id) {
    const e = this.entries.get(id);
    await this.#put([{ ...e, state: 'waiting', hold: 0 }]);
    return this.send();
  }

  /** Sends an entry without the photos that the server does not have. */
  async withoutPhotos(id) {
    const e = this.entries.get(id);
    const left = photosLeft(e);
    await this.#put([{ ...e, photos: e.photos.filter((p) => p.digest), state: 'waiting', hold: 0 }]);
    await dropPhotos(left.map((p) => p.id));
    return this.send();
  }

  async aside(id) {
    const e = this.entries.get(id);
    await this.#put([{ ...e, state: 'aside', asideAt: Date.now() }]);
  }

  /** Recorded entries stay for seven days, and so do those set aside. */
  async #sweep() {
    const before = Date.now() - keepRecorded;
    for (const e of this.list()) {
      const at = e.state === 'recorded' ? e.receipt.at : e.asideAt;
      if (at !== undefined && at < before && e.state !== 'waiting' && (await removeEntry(e.id, (x) => x.state === e.state))) await this.#forget(e);
    }
    this.#changed();
  }

  /** Drops photos that neither an entry nor the draft names. */
  sweepPhotos(drafted) {
    return sweepPhotos(new Set([...drafted, ...this.list().flatMap((e) => (e.photos ?? []).map((p) => p.id))]));
  }

  /** Everything that has no receipt, as a file that any other phone can take in. */
  file() { return this.fileOf(this.list().filter((e) => e.state !== 'recorded')); }

  /** Entries as a file, with the photos that the server does not have. */
  async fileOf(list) {
    const entries = [];
    for (const e of list) {
      const photos = [];
      for (const p of e.photos ?? []) photos.push({ ...p, ...(p.digest ? {} : { picture: await photoToText(p.id) }) });
      entries.push(photos.length > 0 ? { ...e, photos } : e);
    }
    return { haulout: 'entries', device: this.#device, saved: new Date().toISOString(), entries };
  }

  /** Takes in a file of another phone; says how many entries were new. */
  async take(file) {
    if (file?.haulout !== 'entries' || !Array.isArray(file.entries)) throw new Error('This is not a file of entries.');
    const sound = file.entries.filter((e) => e?.fact?.id && e.fact.id === e.id && e.fact.type && e.fact.facility && e.fact.data && e.by);
    const fresh = sound.filter((e) => !this.entries.has(e.id)).map((e) => ({ ...e, state: 'waiting', hold: 0, from: file.device }));
    for (const e of fresh.filter((x) => x.photos)) e.photos = await takenIn(e.photos);
    if (fresh.length > 0) await this.#put(fresh);
    this.send();
    return fresh.length;
  }
}

/** The photos of an entry of a file, kept on this phone. */
async function takenIn(photos) {
  for (const p of photos) if (p.picture) await photoFromText(p.id, p.picture);
  return photos.map(({ picture, ...p }) => p);
}

function problemOf(status, body) {
  const details = (body.problems ?? []).map((p) => `${p.field} ${p.detail}`);
  return { status, title: body.title ?? `Answer ${status}`, detail: [body.detail, ...details].filter(Boolean).join('; ') };
}

function troubleOf(status, body) {
  if (status === 401) return 'sign-in';
  return body.title || body.detail || `The server answered ${status}`;
}

/** Runs while no other tab does the same; where locks are unknown it just runs. */
async function alone(name, run) {
  if (!navigator.locks) return run();
  return navigator.locks.request(name, { ifAvailable: true }, (lock) => (lock ? run() : undefined));
}
