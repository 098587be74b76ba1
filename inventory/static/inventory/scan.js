// Hears a hand scanner wherever the focus is and fires "scan" on document, {text, via: "keys"},
// or "scan:again" where a code did not come whole.

import { Burst, character } from "./burst.js";

const burst = new Burst();
let field = null; // the text field that had the focus when the burst began
let before = "";

const isField = (element) => element?.matches?.("input:not([type=radio], [type=checkbox]), textarea");

function onKey(event) {
  if (event.repeat || event.isComposing) return;
  if (event.key === "Enter" || event.key === "Tab") return finish(event);
  const letter = character(event);
  if (!letter) return;
  if (burst.take(letter, event.timeStamp)) {
    field = isField(document.activeElement) ? document.activeElement : null;
    before = field?.value ?? "";
  }
  // A blank within a burst would press the button that has the focus, Ctrl+] go back a page.
  if ((burst.hasty && letter === " " && !field) || event.ctrlKey) event.preventDefault();
}

function finish(event) {
  const { text, again } = burst.end(event.timeStamp);
  if (!text && !again) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  if (field) field.value = before;
  const detail = { text, via: "keys" };
  document.dispatchEvent(new CustomEvent(again ? "scan:again" : "scan", { detail }));
}

addEventListener("keydown", onKey, { capture: true });
