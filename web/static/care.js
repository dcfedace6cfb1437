// What holds of an animal's care now: the sheet's word, and what this phone
// logged since and the sheet does not know yet.

import { dayIn } from './sheet.js';
import { wire } from './fact.js';

const fixTypes = new Set([wire.corrected, wire.withdrawn]);

/** The entries that count, and the last fix of each that one of them makes. */
function standing({ sheet, queue }) {
  const counting = queue.list().filter((e) => sheet.counts(e)).reverse(); // the oldest first
  const fixOf = (fixes) => new Map(fixes.filter((e) => fixTypes.has(e.fact.type)).map((e) => [e.fact.data.entry, e.fact]));
  return { counting, fixes: fixOf(counting), fresh: fixOf(counting.filter((e) => !sheet.knows(e))), known: fixOf(counting.filter((e) => sheet.knows(e))) };
}

/** What a fix leaves of an entry's data; null where it was taken out. */
function left(data, fix) {
  if (!fix) return data;
  return fix.type === wire.withdrawn ? null : fix.data.data;
}

const findingsOf = (check, since, by, data) => (data?.findings ?? []).map((f) => ({ ...f, check, since, by }));

/** The findings of an animal that nobody closed, the urgent first, then the oldest. */
export function openFindings(deck, animal) {
  const { sheet } = deck;
  const { counting, fixes, fresh } = standing(deck);
  const since = counting.filter((e) => !sheet.knows(e));
  const theirs = animal.findings ?? [];
  const mended = theirs.filter((f, i) => fresh.has(f.check) && theirs.findIndex((x) => x.check === f.check) === i);
  const all = [
    ...theirs.filter((f) => !fresh.has(f.check)),
    ...mended.flatMap((f) => findingsOf(f.check, f.since, f.by, left(null, fresh.get(f.check)))),
    ...since.filter((e) => e.fact.type === wire.check && e.fact.data.animal === animal.id).flatMap((e) => findingsOf(e.id, e.fact.time, e.by, left(e.fact.data, fixes.get(e.id)))),
  ];
  const closed = new Set(since.filter((e) => e.fact.type === wire.closed && left(e.fact.data, fixes.get(e.id))).map((e) => `${e.fact.data.check} ${e.fact.data.region}`));
  const urgentFirst = (a, b) => Number(Boolean(b.urgent)) - Number(Boolean(a.urgent)) || Date.parse(a.since) - Date.parse(b.since);
  return all.filter((f) => !closed.has(`${f.check} ${f.region}`)).sort(urgentFirst);
}

/** When the animal was last looked over, {time, by}, or undefined. */
export function lastCheck(deck, animal) {
  const { counting, fixes } = standing(deck);
  const own = counting.filter((e) => e.fact.type === wire.check && e.fact.data.animal === animal.id && left(e.fact.data, fixes.get(e.id)));
  return [animal.checked, ...own.map((e) => ({ time: e.fact.time, by: e.by }))].filter(Boolean).sort((a, b) => Date.parse(b.time) - Date.parse(a.time))[0];
}

/** The orders that hold now, each with the doses given: today, or ever of a single one. */
export function ordersNow(deck, animal) {
  const { sheet } = deck;
  const now = deck.now().getTime();
  const today = dayIn(now, sheet.zone);
  const ofToday = Boolean(sheet.data.now) && dayIn(Date.parse(sheet.data.now), sheet.zone) === today;
  const { counting, fixes, known } = standing(deck);
  return (animal.orders ?? []).filter((o) => !o.until || Date.parse(o.until) >= now).map((o) => {
    const doses = counting.filter((e) => e.fact.type === wire.dose && e.fact.data.order === o.order && e.fact.data.animal === animal.id && (!o.daily || dayIn(Date.parse(e.fact.time), sheet.zone) === today));
    const one = (data) => Number(Boolean(data) && data.taken !== 'none');
    const said = !o.daily || ofToday;
    const last = [o.last, ...doses.filter((e) => one(left(e.fact.data, fixes.get(e.id)))).map((e) => e.fact.time)].filter(Boolean).sort((a, b) => Date.parse(b) - Date.parse(a))[0];
    const more = doses.reduce((n, e) => n + one(left(e.fact.data, fixes.get(e.id))) - (said && sheet.knows(e) ? one(left(e.fact.data, known.get(e.id))) : 0), 0);
    return { ...o, last, of: o.daily || 1, given: (said ? o.given : 0) + more };
  });
}
