// What the server is told of entries that this phone could not hand over, so
// that somebody looks for the phone. It is no entry: it is not kept, and the
// next run makes it anew.

import { keep, kept } from './db.js';
import { uuid7, wire } from './fact.js';

const none = { waiting: 0, facility: '' };

/** What was due and did not go, in the order in which it happened. */
function held(queue) {
  const list = queue.list().filter((e) => e.state === 'refused' || (e.state === 'waiting' && e.hold <= Date.now()));
  return list.sort((a, b) => Date.parse(a.fact.time) - Date.parse(b.fact.time));
}

/** Whether the server believes another number. */
export async function reportDue(queue) {
  return held(queue).length !== ((await kept('reported')) ?? none).waiting;
}

/** The facts that tell the number, and what to remember once they are taken. The device is named by whoever sends them. */
export async function reportOf(queue, offset) {
  const last = (await kept('reported')) ?? none;
  const list = held(queue);
  const [oldest] = list;
  const facility = oldest?.fact.facility ?? last.facility;
  const fact = (of, data) => ({ id: uuid7(), type: wire.report, time: new Date(Date.now() + offset).toISOString(), facility: of, data });
  const facts = [fact(facility, oldest ? { waiting: list.length, oldest: oldest.fact.time } : { waiting: 0 })];
  if (last.waiting > 0 && last.facility !== facility) facts.push(fact(last.facility, { waiting: 0 })); // none of its entries is the oldest any more
  return { facts, remember: () => keep('reported', { waiting: list.length, facility }) };
}
