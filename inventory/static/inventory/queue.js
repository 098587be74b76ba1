// The one way from a page to the event intake. An event is kept here first and counts as saved only
// when the browser says so; then it is sent, oldest first, until the server has named it. A server
// put back from an old copy lacks what was answered since: that is sent again, before anything new.
// It shows by its numbers, and where this browser was put back too, by the record mark noted here.
//
// Fires on document: "queue:changed", "queue:answer" (detail: the answered row), "queue:trouble"
// (detail: words, "" when it is over).

import { uuid7 } from "./ids.js";
import * as store from "./store.js";

const BATCH = 20;
const PATIENCE = 5_000; // ms for one answer
const AGAIN = 15_000; // ms between tries
let sending = false;
let met = false; // whether the server has told, since this page was opened, what it has of ours

const me = () => document.body.dataset.person ?? "";
const say = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));
const others = new BroadcastChannel("lastbolt-queue"); // pages of this browser: they share the queue
others.onmessage = () => say("queue:changed");
const changed = () => {
  say("queue:changed");
  others.postMessage("changed");
};

/** Keep one event: fields as in the event line, without v, id, seq, device and at. One that has
 *  `since`, the record mark of its page, is kept with the latest that this browser knows. */
export async function add(fields) {
  const id = uuid7();
  const row = await store.keep((seq, device, noted) => {
    const line = { v: 1, id, seq, device, at: new Date().toISOString(), ...fields };
    if (line.since) line.since = later(line.since, noted);
    return { id, person: me(), line: JSON.stringify(line) };
  });
  changed();
  send();
  return row;
}

const later = (mark, other = "0:") => (parseInt(other) > parseInt(mark) ? other : mark);

/** Send what waits, batch by batch; one sender at a time over all windows of this browser. */
export async function send() {
  if (sending || !me()) return;
  sending = true;
  try {
    const once = { ifAvailable: true };
    await (navigator.locks?.request("lastbolt-send", once, (lock) => lock && sendAll()) ??
      sendAll());
  } catch (error) {
    say("queue:trouble", error.words ?? "No signal. What you scan is kept here.");
  } finally {
    sending = false;
    changed();
  }
}

async function sendAll() {
  const wanted = new Set();
  for (;;) {
    if (!met) await meet();
    const batch = await mine();
    if (!batch.length) return;
    const device = await store.fact("device");
    // A server that has not even heard the last we know of takes nothing: it says what it lacks, and
    // that goes first, in its order.
    const noted = await store.fact("mark");
    const known = `after=${await store.newest()}${noted ? `&mark=${noted}` : ""}`;
    const address = `/api/events?device=${device}&${known}`;
    const body = batch.map((row) => row.line).join("\n");
    const reply = await post(address, body, "application/x-ndjson");
    if (reply.results.some((one) => one.sentence.startsWith("device:"))) {
      met = false;
      throw new Error("unknown device");
    }
    const answered = await store.answer(reply.results);
    for (const row of answered) if (!row.again) say("queue:answer", row);
    say("queue:trouble", "");
    const lacking = await store.again(reply);
    changed();
    // A server that names none of ours, or asks for one for ever, is asked again later.
    if (!answered.length && !lacking.length) return;
    if (lacking.some((seq) => wanted.has(seq))) return;
    for (const seq of lacking) wanted.add(seq);
    // It may have forgotten this browser too.
    if (lacking.length) met = false;
  }
}

// Somebody else's events wait for their own sign-in: nobody signs for another.
const mine = async () =>
  (await store.rows("waiting")).filter((row) => row.person === me()).slice(0, BATCH);

/** Name this browser to the server, and hear which of its events a server put back has not. */
async function meet() {
  const device = await store.fact("device");
  if (!device) return;
  const label = navigator.userAgentData?.platform ?? "";
  const noted = await store.fact("mark");
  const asked = JSON.stringify({ device, label, noted });
  await store.again(await post("/api/devices", asked, "application/json"));
  met = true;
}

/** POST with the CSRF token of this moment; throws an error with words for people. */
export async function post(address, body, type) {
  const headers = { "X-CSRFToken": token(), Accept: "application/json" };
  if (type) headers["Content-Type"] = type;
  const signal = AbortSignal.timeout(type ? PATIENCE : 6 * PATIENCE); // photos take longer
  const reply = await fetch(address, { method: "POST", body, headers, signal });
  const data = await reply.json().catch(() => ({}));
  if (reply.ok) return data;
  const words = reply.status === 403 ? "Sign in again to send what is kept here." : data.detail;
  throw Object.assign(new Error(`${reply.status}`), { words: words ?? "The server is in trouble." });
}

const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";

/** What the badge shows: rows that wait (and how many of them are another's), rows to look at. */
export async function state() {
  const waiting = await store.rows("waiting");
  const refused = await store.rows("refused");
  return { waiting, refused, others: waiting.filter((row) => row.person !== me()).length };
}

export async function settle(seq) {
  await store.settle(seq);
  changed();
}

/** Try at once, then whenever there may be signal. */
export function start() {
  store.tidy();
  navigator.storage?.persist?.();
  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => document.hidden || send());
  setInterval(send, AGAIN);
  send();
}
