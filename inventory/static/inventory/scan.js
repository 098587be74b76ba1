// Hears a hand scanner wherever the focus is and fires on document: "scan", {text, via}; or
// "scan:again", {why}, where a code did not come whole or cannot be told. Before them "scan:raw",
// {signs, times, end, loud}, as the keys came; who prevents it takes the scan for itself (a lesson).

import { Burst } from "./burst.js";
import { meant, usual } from "./learnt.js";
import { shouts, Signs } from "./signs.js";
import * as store from "./store.js";

const QUIET = 240; // ms of rest that end a scan where the scanner was found to send nothing behind it
const LATE = 50; // ms: a page that was busy for longer may have keys waiting
const ENDLESS = 600; // ms of rest after which a scan that bears no end is over
export const LOUD = "Caps Lock is on. Switch it off, scan again.";
const COMING = 150; // ms: nobody scans so soon after a page came; it may be the rest of a code
const TORN = "The code did not come whole. Scan it again.";

const signs = new Signs();
let learnt = usual();
const burst = new Burst(learnt);
burst.reopen(performance.now(), COMING); // a code may have begun before this page heard any key
let moved = false; // whether this computer's keyboard is another one than the scanner's
let loud = false; // whether Caps Lock was on amid the burst: its signs are others then
let field = null; // the text field that had the focus when the burst began
let before = "";
let rest;

/** Go by what was learnt about this browser's scanner from now on. */
function follow(lesson) {
  learnt = lesson ?? usual();
  burst.limits = learnt; // what came of a code while the lesson was read stays part of it
  moved = learnt.back.some(([came, sign]) => came !== sign);
}

const pages = new BroadcastChannel("lastbolt-scanner"); // all pages of this browser have one scanner
pages.onmessage = () => store.fact("scanner").then(follow, () => {});
store.fact("scanner").then((lesson) => lesson && follow(lesson), () => {});

/** Go by a lesson that was just kept, here and on every other page that is open. */
export function taught(lesson) {
  follow(lesson);
  pages.postMessage("taught");
}

const isField = (element) => element?.matches?.("input:not([type=radio], [type=checkbox]), textarea");
const say = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail, cancelable: true }));

function onKey(event) {
  if (event.repeat || event.isComposing) return;
  if (event.key === "Enter" || event.key === "Tab") return finish(event);
  const sign = signs.down(event, burst.hasty);
  if (!sign) return;
  take(sign, event.timeStamp);
  loud ||= shouts(event) || (moved && event.getModifierState?.("CapsLock"));
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
    loud = false;
    field = isField(document.activeElement) ? document.activeElement : null;
    before = field?.value ?? "";
  }
  awaitRest();
}

function awaitRest() {
  const ms = learnt.end === "none" ? Math.max(QUIET, 2 * learnt.pause) : ENDLESS;
  clearTimeout(rest);
  rest = setTimeout(endless, ms, performance.now() + ms);
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
function endless(due) {
  if (!burst.isScan) return;
  if (performance.now() - due > LATE) return awaitRest();
  const { signs: came, times, torn } = burst;
  burst.clear();
  burst.reopen(times.at(-1), learnt.pause);
  if (torn) return refuse(TORN);
  scanned({ signs: came, times }, "none");
}

function scanned({ signs: came, times }, end) {
  restore();
  if (!say("scan:raw", { signs: came, times, end, loud })) return;
  if (loud) return refuse(LOUD);
  if (end === "none" && learnt.end !== "none") {
    burst.reopen(times.at(-1));
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
