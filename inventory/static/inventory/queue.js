// The one way from a page to the event intake. An event is kept here first and counts as saved only
// when the browser says so; then it is sent, oldest first, until the server has named it.
//
// Fires on document: "queue:changed", "queue:answer" (detail: the answered row), "queue:trouble"
// (detail: words, "" when it is over).

import { uuid7 } from "./ids.js";
import * as store from "./store.js";

const BATCH = 20;
const PATIENCE = 5_000; // ms for one answer
const AGAIN = 15_000; // ms between tries
let sending = false;

const me = () => document.body.dataset.person ?? "";
const say = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));

/** Keep one event: fields as in the event line, without v, id, seq, device and at. */
export async function add(fields) {
  const id = uuid7();
  const row = await store.keep((seq, device) => {
    const line = { v: 1, id, seq, device, at: new Date().toISOString(), ...fields };
    return { id, person: me(), line: JSON.stringify(line) };
  });
  say("queue:changed");
  send();
  return row;
}

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
    say("queue:changed");
  }
}

async function sendAll() {
  for (let batch = await mine(); batch.length; batch = await mine()) {
    await register();
    const body = batch.map((row) => row.line).join("\n");
    const reply = await post("/api/events", body, "application/x-ndjson");
    // A server put back from an old copy has forgotten this browser: introduce it again.
    if (reply.results.some((one) => one.sentence.startsWith("device:"))) {
      await store.note("registered", "");
      throw new Error("unknown device");
    }
    const answered = await store.answer(reply.results);
    for (const row of answered) say("queue:answer", row);
    say("queue:trouble", "");
    say("queue:changed");
    // A server that names none of ours would be asked for ever.
    if (!answered.length) return;
  }
}

// Somebody else's events wait for their own sign-in: nobody signs for another.
const mine = async () =>
  (await store.rows("waiting")).filter((row) => row.person === me()).slice(0, BATCH);

async function register() {
  const device = await store.fact("device");
  if ((await store.fact("registered")) === device) return;
  const label = navigator.userAgentData?.platform ?? "";
  await post("/api/devices", JSON.stringify({ device, label }), "application/json");
  await store.note("registered", device);
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
  say("queue:changed");
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
