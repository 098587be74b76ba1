// A page without a pad hears the scanner too: it leads on, takes a code into the field that asks for
// one, and says aloud what it cannot do. Nothing that was scanned goes by in silence.

import { show } from "./verdict.js";
import { again, next, told } from "./wall.js";
import * as whose from "./whose.js";

const NOT_HERE = {
  undo: "This page has nothing to undo.",
  absent: "This page has nothing that could be said not to be there.",
  full: "This page has no parcel that is being packed.",
  unknown: "This page does not know that command: print the sheet anew.",
};
const VERDICT = // as templates/parts/verdict.html has it
  '<svg viewBox="0 0 48 48" aria-hidden="true"><use href="#shape-ready"/></svg><strong></strong><span></span>';
const hasPad = () => document.querySelector("scan-pad, scanner-lesson");

function aloud(verdict, words) {
  let place = document.querySelector("[data-aloud]");
  if (!place) {
    place = document.createElement("output");
    place.className = "verdict";
    place.dataset.aloud = "";
    place.role = "alert";
    place.innerHTML = VERDICT;
    document.querySelector("main").prepend(place);
  }
  show(place, verdict, words);
  place.scrollIntoView({ block: "nearest" });
}

/** Words that say why a command is not carried out here; "" where it is. */
function obeyed(command) {
  if (typeof command === "number") return "This page takes no number.";
  if (command === "next") return next() ?? "";
  if (command === "again") return again((words) => aloud("refused", words)) && "";
  return NOT_HERE[command];
}

/** Whether a field of this page asks for a code; then it has it, one of many on a line of its own. */
function filled(text) {
  const field = document.querySelector("[data-takes-scan]");
  if (!field) return false;
  if (field.type !== "textarea") {
    field.value = text;
    field.form.requestSubmit();
    return true;
  }
  field.value = `${field.value.trimEnd()}\n${text}\n`.trimStart();
  field.scrollTop = field.scrollHeight;
  aloud("applied", text);
  return true;
}

document.addEventListener("scan", ({ detail }) => {
  if (hasPad() || !document.body.dataset.person) return;
  const command = told(detail.text);
  if (command === "badge") return void whose.ask(detail.text.trim().toUpperCase(), aloud);
  const words = command ? obeyed(command) : filled(detail.text) ? "" : "This page takes no scans: nothing was noted.";
  if (words) aloud("refused", words);
});
document.addEventListener("scan:again", ({ detail }) => hasPad() || aloud("refused", detail.why));
