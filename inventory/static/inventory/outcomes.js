// What this phone says of a scan at once, by its own data, and whether the server said otherwise
// later. A row of "looked" is {id, person, is, item, step, subject, verdict, at, otherwise}.

import { asked, strictly } from "./database.js";
import * as tables from "./tables.js";
import { say } from "./words.js";

const KEPT = 30 * 86_400_000; // ms
const [NOT_YET, LOADED, SEEN, FITTED, ASIDE] = [0, 1, 2, 3, 4];
const REACHED = { load: LOADED, unbox: SEEN, fit: FITTED };
const DONE = { load: "loaded", unbox: "unboxed", fit: "fitted", take_down: "taken down", bring_back: "sent back" };
const AS = { saved: ["applied"], noted: ["noted"], stopped: ["stopped", "dispute", "refused"] };
const HERE = "kept, judged when signal returns";
const me = () => document.body.dataset.person ?? "";

let looked = []; // this person's, in memory
const opened = open().catch(() => {});

async function open() {
  const all = await asked("looked", (rows) => rows.getAll());
  const old = all.filter((row) => Date.now() - row.at > KEPT);
  if (old.length) await strictly((stores) => old.forEach((row) => stores.looked.delete(row.id)), ["looked"]);
  looked = [...all.filter((row) => row.person === me() && !old.includes(row)), ...looked];
}

/** What to say of an event before it is sent: {verdict, sentence, is, item}; without `verdict` in
 *  AS, or `sure`, nothing is compared later. */
export async function judge(fields) {
  await opened;
  const text = fields.text ?? "It";
  const blank = { verdict: "saved", sentence: `${text} is kept on this device.` };
  if (fields.step === "undo" || fields.with) return blank;
  const thing = await tables.find(text);
  if (!thing || !tables.jobOf(fields.subject)) return blank;
  if (thing.kind === "unknown") return { ...blank, sentence: `${text}: ${HERE}.` };
  return { sure: true, ...judged(fields, thing), is: `${thing.kind} ${thing.name}`, item: thing.item };
}

function judged({ step, subject, text }, thing) {
  const { kind, name, where, state, job } = thing;
  const stop = (sentence) => ({ verdict: "stopped", sentence });
  const mine = tables.jobOf(subject);
  // What comes off a wall is whoever's put it there, and set aside it comes off all the more.
  const off = { take_down: kind === "other" || state === ASIDE || (job && job !== mine), bring_back: state === ASIDE };
  if (off[step]) return { verdict: "saved", sentence: `${text}: ${HERE}.`, sure: false };
  if (kind === "other") return stop("This belongs to another job: set it aside.");
  if (kind === "unclear") return stop("Two things carry this code. Scan the longer code beside it.");
  if (job && job !== mine) return stop(`${name} belongs to ${job.code}: set it aside for that job.`);
  if (state === ASIDE) return stop(`${name} is set aside: do not use it.`);
  if (kind === "box" && step !== "load") return stop(`This is the box of ${name}. Scan the label on the thing itself.`);
  const shared = kind === "item";
  const again = looked.some((row) => row.step === step && row.subject === subject && row.is === `${kind} ${name}`);
  if (!shared && again) return { verdict: "noted", sentence: `${name}: already ${DONE[step] ?? "scanned"} here.` };
  if (!shared && REACHED[step] && state >= REACHED[step]) {
    return { verdict: "noted", sentence: `${name}: was ${DONE[step]} before.` };
  }
  return { verdict: "saved", sentence: `${[name, ...figures(step, subject, thing, mine), where].filter(Boolean).join(", ")}.` };
}

/** "3 of 6" of a thing with a serial, "12 needed, Bag 4" of small parts. */
function figures(step, subject, { kind, item }, mine) {
  const [needed, seen, words, around] = mine.counts[item] ?? [];
  if (!needed) return [];
  if (kind === "item") return [say("{0} needed", words), around];
  if (step !== "unbox" || kind !== "unit") return [];
  const since = looked.filter(
    (row) => row.item === tables.nameOf(item) && row.step === step && row.subject === subject &&
      row.verdict === "saved" && row.at > tables.kept().at,
  );
  return [say("{0} of {1}", seen + since.length + 1, needed)];
}

/** Remember what was said of a kept event; what is undone here was never scanned. */
export function note(row, fields, told) {
  if (fields.step === "undo") {
    looked = looked.filter((one) => one.id !== fields.reverses);
    return strictly((stores) => stores.looked.delete(fields.reverses), ["looked"]);
  }
  if (!told.sure) return undefined;
  const item = told.item === null || told.item === undefined ? "" : tables.nameOf(told.item);
  const { step, subject } = fields;
  return keep({ id: row.id, person: me(), is: told.is, item, step, subject, verdict: told.verdict, said: told.sentence, at: Date.now() });
}

function keep(row) {
  looked = [...looked.filter((one) => one.id !== row.id), row];
  return strictly((stores) => stores.looked.put(row), ["looked"]);
}

/** Whether an answered row is not what this phone had said. */
export function differs(row) {
  const one = looked.find((told) => told.id === row.id);
  return Boolean(one) && !AS[one.verdict].includes(row.verdict);
}

/** Note an answer that differs until a person has seen it. */
export async function noteAnswer(row) {
  await opened;
  const one = looked.find((told) => told.id === row.id);
  if (one && differs(row)) await keep({ ...one, otherwise: { verdict: row.verdict, sentence: row.sentence } });
}

/** What the record said otherwise and nobody has seen yet. */
export async function unseen() {
  await opened;
  return looked.filter((row) => row.otherwise);
}

/** A person has seen it. */
export function seen(id) {
  const { otherwise, ...row } = looked.find((one) => one.id === id);
  return keep(row);
}
