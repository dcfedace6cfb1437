// Facts as they travel: an id made on the phone, a wire name, a time, a body.

/** A UUID, version 7 (RFC 9562): the time first, so that ids sort by it. */
export function uuid7(now = Date.now()) {
  const b = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) b[i] = Math.floor(now / 2 ** (40 - 8 * i)) & 0xff;
  b[6] = 0x70 | (b[6] & 0x0f);
  b[8] = 0x80 | (b[8] & 0x3f);
  const hex = [...b].map((x) => x.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

export const wire = {
  feed: 'haulout.feed.given.v1',
  weight: 'haulout.weight.taken.v1',
  coat: 'haulout.coat.scored.v1',
  encounter: 'haulout.encounter.seen.v1',
  trial: 'haulout.trial.scored.v1',
  watch: 'haulout.watch.held.v1',
  scan: 'haulout.company.scanned.v1',
  check: 'haulout.check.made.v1',
  closed: 'haulout.finding.closed.v1',
  dose: 'haulout.medication.given.v1',
  water: 'haulout.water.tested.v1',
  report: 'haulout.device.reported.v1',
  corrected: 'haulout.entry.corrected.v1',
  withdrawn: 'haulout.entry.withdrawn.v1',
};

export const kg = (value) => ({ value, unit: 'kg' });

/** What was stated of some fields; the others are left out of a body. */
export const stated = (fields) => Object.fromEntries(Object.entries(fields).filter(([, value]) => value));

/** Grams as the kilograms that a keeper reads: 0.5, 1.25, 12.0. */
export function kilos(grams) {
  const text = (Math.round(grams) / 1000).toFixed(3).replace(/0{1,2}$/, '');
  return text;
}

/** A moment as a datetime-local field wants it, in the phone's own zone. */
export function local(at) {
  const shifted = new Date(at.getTime() - at.getTimezoneOffset() * 60_000);
  return shifted.toISOString().slice(0, 16);
}

/** A number as typed, with a comma or a point, as a plain decimal; '' if it is none. */
export function decimal(text) {
  const plain = text.trim().replace(',', '.').replace(/\.$/, '');
  if (!/^\d+(\.\d+)?$/.test(plain)) return '';
  return plain.replace(/^0+(?=\d)/, '');
}

/** The grams that a fact's quantity stands for; the units that a scale may have. */
export function grams(q) {
  return Number(q.value) * ({ kg: 1000, g: 1, '[lb_av]': 453.59237 }[q.unit] ?? NaN);
}
