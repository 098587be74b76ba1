// The wall sheet: commands and badges that are scanned instead of touched. A command is never a thing:
// it is carried out here, before anything becomes an event. Codes: inventory/codes/commands.py.

import { press } from "./press.js";
import { show } from "./verdict.js";
import * as whose from "./whose.js";

const COMMANDS = {
  LBX000001Y: "next",
  LBX000002W: "undo",
  LBX000003U: 2,
  LBX000004S: 5,
  LBX000005P: 10,
  LBX000006M: 25,
  LBX000007K: "absent",
  LBX000008H: "full",
  LBX000009F: "again",
  LBX00000AD: "seen",
};
const COMMAND = /^LBX[0-9A-Z]{7}$/;
const BADGE = /^LBN[0-9A-Z]{7}$/;
const CALM = "Scan the next thing.";
const ONE_EACH = ["fit", "swap", "find_standing", "take_down"]; // steps that take one thing at a time

/** The command that a text is, "badge" for a badge's, "" for any other. */
export function told(text) {
  const code = text.trim().toUpperCase();
  if (BADGE.test(code)) return "badge";
  return COMMAND.test(code) ? COMMANDS[code] ?? "unknown" : "";
}

/** The commands of one pad. */
export class Wall {
  #many = 0; // of the next thing
  doubted = ""; // what was said not to be there, until it is said again
  closing = false; // a parcel was said to be full here, and no answer came yet

  constructor(pad) {
    this.pad = pad;
  }

  get many() {
    return this.#many;
  }

  /** The number in force has a place of its own: no answer that comes late hides it. */
  set many(many) {
    this.#many = many;
    const place = this.pad.querySelector("[data-many]");
    if (!place) return;
    place.hidden = !many;
    place.textContent = many ? `${many} of the next thing` : "";
  }

  say(verdict, words) {
    show(this.pad.output, verdict, words);
  }

  /** Whether a text is a command or a badge; then it is carried out. */
  takes(text) {
    const command = told(text);
    if (command === "badge") this.badge(text.trim().toUpperCase());
    else if (command) this.obey(command);
    return Boolean(command);
  }

  obey(command) {
    if (command === "seen") return void this.pad.gate.open();
    if (this.pad.gate.holds()) return;
    if (command !== "absent") this.doubted = "";
    if (typeof command === "number") return this.count(command);
    const does = { next, again: () => again((words) => this.say("refused", words)) };
    for (const name of ["undo", "absent", "full"]) does[name] = () => this[name]();
    const words = does[command] ? does[command]() : "This page does not know that command: print the sheet anew.";
    if (typeof words === "string") this.say("refused", words);
  }

  count(many) {
    if (ONE_EACH.includes(this.pad.getAttribute("step"))) {
      return this.say("refused", "This page takes no number: scan each thing by itself.");
    }
    this.many = this.many === many ? 0 : many;
    this.say("ready", this.many ? `${many} of the next thing. Scan it.` : `One again. ${CALM}`);
  }

  /** The fields of a scan with the number that was said before it, which holds for one scan. */
  counted(fields) {
    const many = this.many;
    this.many = 0;
    this.doubted = "";
    return many ? { ...fields, quantity: many } : fields;
  }

  undo() {
    if (!this.many) return void this.pad.undo();
    this.many = 0;
    this.say("ready", `One again. ${CALM}`);
  }

  /** The first thing on the walk is not in its bin: said once it is asked back, said twice it is so. */
  absent() {
    const stop = document.querySelector("[data-absent]");
    if (!stop) return "Nothing on this page can be said not to be there.";
    const { text, target, words, serial } = stop.dataset;
    if (serial) return `${words}: any other one will do. Scan it.`;
    if (this.doubted !== `${text} ${target}`) {
      this.doubted = `${text} ${target}`;
      return void this.say("ready", `Not there: ${words}? Scan it once more to say so.`);
    }
    this.doubted = "";
    const since = this.pad.getAttribute("mark");
    this.pad.send({ step: "count", kind: "none", text, target, via: "keys", ...(since && { since }) });
  }

  full() {
    if (!document.querySelector("[data-parcels]")) return "No parcel is packed on this page.";
    this.closing = true;
    this.pad.send({ step: "parcel_full", subject: this.pad.getAttribute("subject"), via: "keys" });
  }

  badge(code) {
    this.many = 0;
    whose.ask(code, (verdict, words) => this.say(verdict, words));
  }

  /** What the server says to one of this page's own events: the next parcel's label is printed. */
  answered({ verdict }, { step }) {
    if (!this.closing || step !== "parcel_full") return;
    this.closing = false;
    // The page as it is asked after no printer: that is asked only now.
    const here = location.pathname;
    if (verdict === "applied") press(`${here}?press=yes`, "[data-parcels] form", { back: here });
  }
}

/** Lead on, or say why not. */
export function next() {
  const way = document.querySelector("a[data-next]");
  if (!way) return "There is nothing next on this page.";
  return void location.assign(way.href);
}

/** This person's latest print once more, by the list of what was printed; `refuse(words)` if not. */
export async function again(refuse) {
  const none = { form: "You have printed nothing at once yet.", page: "Labels are printed by the warehouse and the office." };
  const words = await press("/printing/", "tr[data-mine] form", { act: "again", back: location.pathname }, none);
  if (words) refuse(words);
}
