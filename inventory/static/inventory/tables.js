// What this phone can say of a code by itself: the tables that the server made beforehand (see
// kitting/phone_codes.py), one row for the person who is signed in. Another's never stay here.

import { asked, strictly } from "./database.js";
import { lookUpKey } from "./look-up-key.js";

const ADDRESS = "/api/my/codes";
const UNCLEAR = -1;
const HASHED = 12; // hexadecimal digits of another job's code

const me = () => document.body.dataset.person ?? "";
let tables; // as they came, with {at, ends, bytes}
let keys = new Map(); // look-up key -> number of a thing
let others = new Set();

/** Resolves when the kept tables are in memory. */
export const opened = open().catch(() => {});

async function open() {
  // That page stands for another that is not kept: it does not say who is signed in.
  if (document.body.classList.contains("no-signal")) return;
  const whose = await asked("tables", (all) => all.getAllKeys());
  if (whose.some((person) => person !== me())) await forget((person) => person !== me());
  if (whose.includes(me())) use(await asked("tables", (all) => all.get(me())));
}

function use(fresh) {
  tables = fresh;
  others = new Set(fresh.others);
  keys = new Map(fresh.unclear.map((key) => [key, UNCLEAR]));
  fresh.things.forEach((thing, number) => thing[6].forEach((key) => keys.set(key, number)));
}

/** Ask the server for what is new, keep it; throws where there is no signal. */
export async function refresh() {
  await opened;
  const headers = tables ? { "If-None-Match": `"${tables.version}"` } : {};
  const reply = await fetch(ADDRESS, { headers, cache: "no-store", signal: AbortSignal.timeout(20_000) });
  if (!reply.ok && reply.status !== 304) throw new Error(`${reply.status}`);
  const ends = Number(reply.headers.get("X-Session-Ends")) * 1000;
  const text = reply.status === 304 ? "" : await reply.text();
  const fresh = text ? { ...JSON.parse(text), bytes: text.length } : tables;
  if (fresh?.person !== me()) throw new Error("somebody else is signed in by now");
  const row = { ...fresh, at: Date.now(), ends };
  await strictly((stores) => stores.tables.put(row, me()), ["tables"]);
  use(row);
  return row;
}

/** Let the tables go of all of whom `whose` is true. */
export function forget(whose = () => true) {
  return strictly((stores) => {
    stores.tables.openCursor().onsuccess = (step) => {
      const cursor = step.target.result;
      if (!cursor) return;
      if (whose(cursor.key)) cursor.delete();
      cursor.continue();
    };
  }, ["tables"]);
}

/** What is kept: {jobs, items, at (ms), ends (ms), bytes, ...}, undefined if nothing. */
export const kept = () => tables;

/** What a text names: {kind, item, name, where, job, state, counts}; kind unit, box, package, place
 *  or item, else other (another job's), unclear (two things carry it), unknown; undefined without tables. */
export async function find(text) {
  await opened;
  if (!tables) return undefined;
  const key = lookUpKey(text);
  const number = keys.get(key) ?? keys.get(key.replace(/[ \xa0]/g, ""));
  if (number === UNCLEAR) return { kind: "unclear" };
  if (number === undefined) return { kind: (await isOthers(key)) ? "other" : "unknown" };
  const [kind, item, words, where, job, state] = tables.things[number];
  const name = [tables.items[item], words].filter(Boolean).join(" ");
  return { kind, item, name, where, state, job: tables.jobs[job] };
}

/** The tables' job that an event's subject names. */
export const jobOf = (subject) => tables?.jobs.find((job) => job.subject === subject);

export const nameOf = (item) => tables.items[item];

async function isOthers(key) {
  if (!others.size || !crypto.subtle) return false; // no hashes on plain http
  const text = new TextEncoder().encode(`${me()} ${key}`);
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", text));
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return others.has(hex.slice(0, HASHED));
}
