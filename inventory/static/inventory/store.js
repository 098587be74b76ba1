// Where events wait in this browser: one IndexedDB row per event, keyed by the device's own number.
//
// Row: {seq, id, person, line, state, sentence, verdict, at, again}; state is "waiting", "answered",
// "refused" (a person must look) or "settled" (a person has looked); again: it was answered before.

import { asked, strictly } from "./database.js";
import { uuid7 } from "./ids.js";

const KEPT_DAYS = 30; // answered rows; a server put back from an old copy lacks some of them
const ANSWERED = IDBKeyRange.bound(["answered", 0], ["answered", Infinity]);

/** Number and keep one event with what goes beside it (see enclosures.js), all or nothing of it;
 *  `write(seq, device, mark)` gives its finished row; mark: the record mark of the latest answer,
 *  if there was one. Resolves once kept. */
export function keep(write, beside = []) {
  return strictly(({ events, facts, enclosures }, give) => {
    for (const one of beside) enclosures.put(one);
    facts.get("device").onsuccess = (named) => {
      const device = named.target.result ?? uuid7();
      facts.put(device, "device");
      facts.get("seq").onsuccess = (counted) => {
        const seq = (counted.target.result ?? 0) + 1;
        facts.put(seq, "seq");
        facts.get("mark").onsuccess = (noted) => {
          const made = write(seq, device, noted.target.result);
          const row = { ...made, seq, state: "waiting", at: Date.now() };
          events.add(row);
          give(row);
        };
      };
    };
  }, ["events", "facts", "enclosures"]);
}

/** Note the server's answers on the rows it named; other rows stay as they are. */
export function answer(results) {
  return strictly(({ events }, give) => {
    const done = [];
    for (const { id, verdict, sentence } of results) {
      events.index("id").get(id).onsuccess = (found) => {
        const row = found.target.result;
        if (!row || row.state !== "waiting") return;
        const state = verdict === "refused" ? "refused" : "answered";
        const fresh = { ...row, state, verdict, sentence, answered: Date.now() };
        events.put(fresh);
        done.push(fresh);
      };
    }
    give(done);
  });
}

/** The highest number that the server has answered; 0 of none. */
export async function newest() {
  const last = await asked("events", (all) => all.index("state").openCursor(ANSWERED, "prev"));
  return last?.value.seq ?? 0;
}

/** Let answered rows wait again that the server does not have: those above its highest number and
 *  those in its gaps, as [first, last]; all of them where its record is not the one whose mark was
 *  noted, for then other events may bear their numbers. Notes its mark. Resolves to their numbers. */
export function again({ high_water: highest, missing: gaps, holds_mark: holds, mark }) {
  const inGap = (seq) => gaps.some(([first, last]) => first <= seq && seq <= last);
  const lacking = (seq) => !holds || seq > highest || inGap(seq);
  return strictly(({ events, facts }, give) => {
    const found = [];
    facts.put(`${mark.size}:${mark.root}`, "mark");
    // A browser put back from an old copy gives no number that the server knows already.
    facts.get("seq").onsuccess = (counted) => {
      if (highest > (counted.target.result ?? 0)) facts.put(highest, "seq");
    };
    events.index("state").openCursor(ANSWERED).onsuccess = (step) => {
      const cursor = step.target.result;
      if (!cursor) return;
      if (lacking(cursor.value.seq)) {
        found.push(cursor.value.seq);
        cursor.update({ ...cursor.value, state: "waiting", again: true });
      }
      cursor.continue();
    };
    give(found);
  });
}

/** A person has dealt with a refused row. */
export function settle(seq) {
  return strictly(({ events }) => {
    events.get(seq).onsuccess = (found) => {
      if (found.target.result) events.put({ ...found.target.result, state: "settled" });
    };
  });
}

/** Rows of a state, oldest first. */
export function rows(state) {
  const range = IDBKeyRange.bound([state, 0], [state, Infinity]);
  return asked("events", (all) => all.index("state").getAll(range));
}

/** A fact of this browser: "device" (its id), "seq" (the number given last), "mark" (the record mark
 *  of the latest answer), "scanner" (what its hand scanner's lesson taught, see learnt.js). */
export function fact(name) {
  return asked("facts", (all) => all.get(name));
}

/** Forget what was answered long ago; what waits or was refused never expires. */
export function tidy(now = Date.now()) {
  return strictly(({ events }) => {
    events.index("state").openCursor(ANSWERED).onsuccess = (step) => {
      const cursor = step.target.result;
      if (!cursor) return;
      if (now - cursor.value.answered > KEPT_DAYS * 86_400_000) cursor.delete();
      cursor.continue();
    };
  });
}

/** Note what a lesson taught; undefined forgets it. */
export function noteScanner(lesson) {
  return strictly(({ facts }) => {
    if (lesson) facts.put(lesson, "scanner");
    else facts.delete("scanner");
  });
}
