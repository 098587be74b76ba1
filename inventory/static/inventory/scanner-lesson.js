// <scanner-lesson first second>: two printed codes, scanned one after the other, teach this browser how
// its hand scanner types; then whatever is scanned is shown as it arrives. Kept in this browser.

import { held, lesson, meant, shouted } from "./learnt.js";
import { LOUD, taught } from "./scan.js";
import * as store from "./store.js";
import { show, told } from "./verdict.js";

const SHOWN = { "\x1d": "\u241d", "\x1e": "\u241e", "\x04": "\u2404", " ": "\u2423" };
const ENDS = { Enter: "Enter", Tab: "Tab", none: "nothing" };

class ScannerLesson extends HTMLElement {
  async connectedCallback() {
    this.output = this.querySelector(".verdict");
    this.codes = [this.getAttribute("first"), this.getAttribute("second")];
    this.came = []; // of each code so far: {held, raw}
    this.abort = new AbortController();
    const once = { signal: this.abort.signal };
    document.addEventListener("scan:raw", (event) => this.take(event), once);
    document.addEventListener("scan:again", ({ detail }) => this.tell("refused", detail.why), once);
    this.querySelector("[data-forget]").addEventListener("click", () => this.forget(), once);
    this.querySelector("[data-paper]").addEventListener("click", () => print(), once);
    this.learnt = await store.fact("scanner");
    this.draw();
  }

  disconnectedCallback() {
    this.abort.abort();
  }

  take(event) {
    event.preventDefault();
    const raw = event.detail;
    if (raw.loud) return this.tell("refused", LOUD);
    const fits = this.codes.map((code) => held(raw.signs, code));
    if (fits[0]) this.came = [{ held: fits[0], raw }];
    else if (fits[1] && this.came.length) return this.learn({ held: fits[1], raw });
    else if (fits[1]) return this.tell("refused", "That is the second code. Scan the first one first.");
    else if (this.learnt && !this.came.length) return this.arrived(raw.signs);
    else return this.tell("refused", this.stranger(raw.signs.length));
    if (shouted(fits[0].map)) return this.tell("refused", LOUD);
    this.tell("noted", "The first code came. Now scan the second one.");
    this.draw();
  }

  stranger(length) {
    const which = this.came.length ? "second" : "first";
    const wanted = this.codes[this.came.length].length;
    return `That is not the ${which} code, or signs of it were lost: expected some ${wanted} signs, got ${length}. Nothing is changed. Scan the ${which} code.`;
  }

  async learn(second) {
    const [first] = this.came;
    const found = lesson([first.held, second.held], [first.raw, second.raw]);
    this.came = [];
    if (!found) {
      this.draw();
      return this.tell("refused", "The two codes came in different ways. Scan both with the same scanner, the first one first.");
    }
    try {
      await store.noteScanner(found);
    } catch (error) {
      return this.tell("refused", `This browser could not keep it: ${error.message}.`);
    }
    this.learnt = found;
    taught(found);
    this.draw();
    const words = found.sure ? "Set up." : "Set up as far as can be: see what to change on the scanner.";
    this.tell(found.sure ? "applied" : "problem", `${words} Scan any code to see how it arrives.`);
  }

  arrived(signs) {
    const text = meant(signs, this.learnt);
    if (text === null) return this.tell("refused", "A sign came that the lesson had not. Scan both codes anew.");
    const plain = [...text].map((sign) => SHOWN[sign] ?? sign).join("");
    this.querySelector("[data-arrived]").textContent = plain;
    this.tell("applied", "It arrives as shown below. Compare it with what is printed.");
  }

  async forget() {
    await store.noteScanner(undefined);
    this.learnt = undefined;
    this.came = [];
    taught(undefined);
    this.draw();
    this.tell("ready", "Forgotten. Scan the first code.");
  }

  draw() {
    const { learnt } = this;
    for (const [n, part] of this.querySelectorAll("[data-code]").entries()) {
      part.toggleAttribute("data-next", n === this.came.length);
    }
    this.querySelector("[data-known]").hidden = !learnt;
    this.querySelector("[data-forget]").hidden = !learnt;
    this.querySelector("[data-paper]").hidden = !learnt?.hints.length;
    if (!learnt) return;
    const day = new Date(learnt.at).toLocaleDateString(document.documentElement.lang);
    const facts = [`Set up on ${day}.`, `After a code it sends ${ENDS[learnt.end]}.`];
    this.querySelector("[data-facts]").textContent = facts.map((one) => told(one)).join(" ");
    this.querySelector("[data-hints]").replaceChildren(
      ...learnt.hints.map((hint) => Object.assign(document.createElement("li"), { textContent: told(hint) })),
    );
  }

  tell(verdict, sentence) {
    show(this.output, verdict, sentence);
  }
}

customElements.define("scanner-lesson", ScannerLesson);
