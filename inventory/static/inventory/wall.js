// The wall sheet: commands and badges that are scanned instead of touched. A command is never a thing:
// it is carried out here, before anything becomes an event. Codes: inventory/codes/commands.py.

import { show } from "./verdict.js";
import * as whose from "./whose.js";

export const COMMANDS = {
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

/** The commands of one pad. */
export class Wall {
  many = 0; // of the next thing
  doubted = ""; // what was said not to be there, until it is said again

  constructor(pad) {
    this.pad = pad;
  }

  /** Whether a text is a command or a badge; then it is carried out. */
  takes(text) {
    const code = text.trim().toUpperCase();
    if (BADGE.test(code)) this.badge(code);
    else if (COMMAND.test(code)) this.obey(COMMANDS[code]);
    else return false;
    return true;
  }

  obey(command) {
    if (command === "seen") return void this.pad.gate.open();
    if (this.pad.gate.holds()) return;
    if (command !== "absent") this.doubted = "";
    if (typeof command === "number") return this.count(command);
    const does = { next, undo: () => this.undo(), absent: () => this.absent(), full: () => this.full() };
    if (command === "again") return void again(this.pad.output);
    const words = does[command] ? does[command]() : "This page does not know that command: print the sheet anew.";
    if (words) show(this.pad.output, "refused", words);
  }

  count(many) {
    this.many = this.many === many ? 0 : many;
    const words = this.many ? `${many} of the next thing. Scan it.` : `One again. ${CALM}`;
    show(this.pad.output, "ready", words);
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
    show(this.pad.output, "ready", `One again. ${CALM}`);
  }

  /** The first thing on the walk is not in its bin: said once it is asked back, said twice it is so. */
  absent() {
    const stop = document.querySelector("[data-absent]");
    if (!stop) return "Nothing on this page can be said not to be there.";
    const { text, target, words, serial } = stop.dataset;
    if (serial) return `${words}: any other one will do. Scan it.`;
    if (this.doubted !== `${text} ${target}`) {
      this.doubted = `${text} ${target}`;
      return void show(this.pad.output, "ready", `Not there: ${words}? Scan it once more to say so.`);
    }
    this.doubted = "";
    const since = this.pad.getAttribute("mark");
    this.pad.send({ step: "count", kind: "none", text, target, via: "keys", ...(since && { since }) });
  }

  full() {
    if (!document.querySelector("[data-parcels]")) return "No parcel is packed on this page.";
    this.pad.send({ step: "parcel_full", subject: this.pad.getAttribute("subject"), via: "keys" });
  }

  badge(code) {
    this.many = 0;
    whose.take(code, "Hands of the badge scanned last.");
    this.pad.send({ step: "badge", text: code, via: "keys" });
  }

  /** What the server says to one of our own events. */
  answered({ verdict, sentence }, { step, text }) {
    if (step !== "badge" || !whose.holds(text)) return;
    if (verdict === "applied") whose.take(text, sentence);
    else whose.take("");
  }
}

function next() {
  const way = document.querySelector("a[data-next]");
  if (!way) return "There is nothing next on this page.";
  location.assign(way.href);
}

/** This person's latest print once more, by the list of what was printed. */
async function again(output) {
  const refuse = (words) => show(output, "refused", words);
  try {
    const reply = await fetch("/printing/");
    if (!reply.ok) return refuse("Labels are printed by the warehouse and the office.");
    const list = new DOMParser().parseFromString(await reply.text(), "text/html");
    const form = list.querySelector("tr[data-mine] form");
    if (!form) return refuse("You have printed nothing at once yet.");
    for (const button of form.querySelectorAll("button, span")) button.remove();
    for (const [name, value] of Object.entries({ act: "again", back: location.pathname })) {
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
    }
    form.action = "/printing/";
    document.body.append(document.adoptNode(form));
    form.submit();
  } catch {
    refuse("No signal to print with.");
  }
}

// On a page without a pad the sheet leads on all the same.
document.addEventListener("scan", ({ detail }) => {
  const pad = document.querySelector("scan-pad, scanner-lesson");
  if (!pad && COMMANDS[detail.text.trim().toUpperCase()] === "next") next();
});
