// Sends what waits in this browser, oldest first, until the server has named it. A server put back
// from an old copy lacks what was answered since: that is sent again, before anything new. It shows
// by its numbers, and where this browser was put back too, by the record mark noted here.
//
// Fires on document: "queue:changed", "queue:answer" (detail: the answered row), "queue:trouble"
// (detail: words, "" when it is over).

import { sendOne, waitsBeside } from "./enclosures.js";
import * as store from "./store.js";

const BATCH = 20;
const PATIENCE = 5_000; // ms for one answer
const [SOON, LATE] = [1_000, 15_000]; // ms between tries: the first after a failure, and the longest
const NO_SIGNAL = "No signal. What you scan is kept here.";
const SIGN_IN = "Sign in again to send what is kept here. If you cannot, hand this device to the office.";
const ANOTHER = "Somebody else has signed in on this device since. What is kept here waits for you.";
let latest = ""; // CSRF token, as the server gave it last
let sending = false;
let met = false; // whether the server has told, since this page was opened, what it has of ours
let pause = LATE;
let next;

/** Who is signed in on this page, "" of nobody. */
export const me = () => document.body.dataset.person ?? "";
const say = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));
const others = new BroadcastChannel("lastbolt-queue"); // pages of this browser: they share the queue
others.onmessage = () => say("queue:changed");

/** Something waits, or waits no longer: every page of this browser shows it. */
export function changed() {
  say("queue:changed");
  others.postMessage("changed");
}

/** Send what waits, batch by batch; one sender at a time over all windows of this browser. */
export async function send() {
  if (sending || !me()) return;
  sending = true;
  clearTimeout(next);
  try {
    const once = { ifAvailable: true };
    await (navigator.locks?.request("lastbolt-send", once, (lock) => lock && sendAll()) ??
      sendAll());
    pause = LATE;
  } catch (error) {
    say("queue:trouble", error.words ?? NO_SIGNAL);
    pause = pause === LATE ? SOON : Math.min(2 * pause, LATE - 1);
  } finally {
    sending = false;
    changed();
    next = setTimeout(send, pause);
  }
}

/** Events first, and again before each piece of what goes beside them. */
async function sendAll() {
  if (met && !(await waits())) return;
  await greet();
  do await sendEvents();
  while (await sendOne(me(), post).finally(changed));
}

async function sendEvents() {
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

const waits = async () => (await mine()).length || waitsBeside(me());

/** See who is signed in by now, and take the CSRF token of this moment. */
async function greet() {
  const reply = await fetch("/api/signed-in", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
  if (reply.status === 403) throw Object.assign(new Error("403"), { words: SIGN_IN });
  const { person, token: fresh } = await reply.json();
  if (person !== me()) throw Object.assign(new Error("another"), { words: ANOTHER });
  latest = fresh;
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

/** POST with the CSRF token of this moment, as the person of this page and nobody else; throws an
 *  error with words for people. */
export async function post(address, body, type) {
  const headers = { "X-CSRFToken": latest || token(), "X-Person": me(), Accept: "application/json" };
  if (type) headers["Content-Type"] = type;
  const short = typeof body === "string"; // photos take longer, and the server looks at each
  const signal = AbortSignal.timeout(short ? PATIENCE : 6 * PATIENCE);
  const reply = await fetch(address, { method: "POST", body, headers, signal });
  const data = await reply.json().catch(() => ({}));
  if (reply.ok) {
    pause = LATE; // the line carries: the next trouble is a new one
    return data;
  }
  if (reply.status === 403) latest = ""; // of a session that is over
  const words = reply.status === 403 ? SIGN_IN : data.detail;
  const { status } = reply;
  throw Object.assign(new Error(`${status}`), { status, words: words ?? "The server is in trouble." });
}

const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
