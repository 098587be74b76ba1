// The one way from a page to the event intake. An event is kept here first and counts as saved only
// when the browser says so; sending.js sends it from then on.

import * as enclosures from "./enclosures.js";
import { uuid7 } from "./ids.js";
import { changed, me, send } from "./sending.js";
import * as store from "./store.js";

export { me, post, send } from "./sending.js";

/** Keep one event: fields as in the event line, without v, id, seq, device and at. One that has
 *  `since`, the record mark of its page, is kept with the latest that this browser knows. Photos
 *  and words that it names are kept beside it. */
export async function add(fields, beside = []) {
  const id = uuid7();
  const row = await store.keep((seq, device, noted) => {
    const line = { v: 1, id, seq, device, at: new Date().toISOString(), ...fields };
    if (line.since) line.since = later(line.since, noted);
    return { id, person: me(), line: JSON.stringify(line) };
  }, beside);
  changed();
  send();
  return row;
}

const later = (mark, other = "0:") => (parseInt(other) > parseInt(mark) ? other : mark);

/** What the badge shows: events and what goes beside them that wait, how many of both are another's,
 *  and rows to look at. */
export async function state() {
  const waiting = await store.rows("waiting");
  const beside = await enclosures.rows("waiting");
  const refused = [...(await store.rows("refused")), ...(await enclosures.rows("refused"))];
  const others = [...waiting, ...beside].filter((row) => row.person !== me()).length;
  return { waiting, beside, refused, others };
}

/** A person has dealt with a refused row. */
export async function settle(row) {
  await (row.kind ? enclosures.settle(row.id) : store.settle(row.seq));
  changed();
}

/** Try at once, then whenever there may be signal. Resolves to whether the browser has promised, asked
 *  for it, to keep what is here also when the device runs out of room. */
export async function start() {
  store.tidy();
  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => document.hidden || send());
  send();
  return Boolean(await navigator.storage?.persist?.());
}
