// Hears a hand scanner wherever the focus is and fires on document: "scan", {text, via}; or
// "scan:again", {why}, where a code did not come whole or cannot be told. Before them "scan:raw",
// {signs, times, end}, as the keys came; who prevents it takes the scan for itself (a lesson).

import { Burst } from "./burst.js";
import { meant, usual } from "./learnt.js";
import { Signs } from "./signs.js";
import * as store from "./store.js";

const ENDLESS = 600; // ms of rest after which a scan that bears no end is over
const TORN = "The code did not come whole. Scan it again.";

const signs = new Signs();
let learnt = usual();
let burst = new Burst(learnt);
let field = null; // the text field that had the focus when the burst began
let before = "";
let rest;

/** Go by what was learnt about this browser's scanner from now on. */
export function follow(lesson) {
  learnt = lesson ?? usual();
  burst = new Burst(learnt);
}

store.fact("scanner").then((lesson) => lesson && follow(lesson), () => {});

const isField = (element) => element?.matches?.("input:not([type=radio], [type=checkbox]), textarea");
const say = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail, cancelable: true }));

function onKey(event) {
  if (event.repeat || event.isComposing) return;
  if (event.key === "Enter" || event.key === "Tab") return finish(event);
  const sign = signs.down(event, burst.hasty);
  if (!sign) return;
  take(sign, event.timeStamp);
  // A blank within a burst would press the button that has the focus, Ctrl and a key is a command.
  if ((burst.hasty && sign === " " && !field) || event.ctrlKey) event.preventDefault();
}

function onKeyUp(event) {
  const sign = signs.up(event);
  if (sign) take(sign, event.timeStamp);
}

function take(sign, time) {
  const { begins, half } = burst.take(sign, time);
  if (half) refuse(TORN);
  if (begins) {
    field = isField(document.activeElement) ? document.activeElement : null;
    before = field?.value ?? "";
  }
  clearTimeout(rest);
  rest = setTimeout(endless, learnt.end === "none" ? 2 * learnt.pause : ENDLESS);
}

function finish(event) {
  clearTimeout(rest);
  const found = burst.end(event.timeStamp);
  if (!found.signs && !found.again) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  if (found.again) return refuse(TORN);
  scanned(found, event.key);
}

/** Nothing comes any more: a scan without an end, or keys that a person typed. */
function endless() {
  if (!burst.isScan) return;
  const { signs: came, times, torn } = burst;
  burst.clear();
  if (torn) return refuse(TORN);
  scanned({ signs: came, times }, "none");
}

function scanned({ signs: came, times }, end) {
  restore();
  if (!say("scan:raw", { signs: came, times, end })) return;
  if (end === "none" && learnt.end !== "none") {
    return refuse("The scanner sent no Enter, so the code may lack its end. Menu: Set up a hand scanner.");
  }
  const text = meant(came, learnt);
  if (text === null) return refuse("The scanner sent a sign that its lesson had not. Set it up anew: Menu.");
  say("scan", { text, via: learnt.sure ? "paired" : "keys" });
}

function refuse(why) {
  restore();
  say("scan:again", { why });
}

/** Nothing of a scan stays in a field. */
function restore() {
  if (field) field.value = before;
}

addEventListener("keydown", onKey, { capture: true });
addEventListener("keyup", onKeyUp, { capture: true });
