// <stack-drawing>: a tap on a place of the drawing chooses that place in the list beside it; what
// leads on at the foot of the page leads to the next free place, behind the last one to the next page.

import { show } from "./verdict.js";
import { told } from "./words.js";

// What is said of a place is done with it: the next free one is meant next.
const STEPS = ["fit", "find_standing"];

class StackDrawing extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => this.choose(event.target.closest("[data-position]")));
    for (const what of ["change", "drawn"]) document.addEventListener(what, () => this.mark());
    document.addEventListener("answered", (event) => this.advance(event.detail));
    this.leads = document.querySelector(".hands .onward [data-next]");
    this.page = this.leads?.textContent;
    this.leads?.closest("a").addEventListener("click", (event) => this.goOn(event));
    this.mark();
  }

  get radios() {
    return [...document.querySelectorAll("[name=position]")];
  }

  choose(box) {
    const radio = box && this.radios.find((one) => one.value === box.dataset.position);
    if (!radio) return;
    radio.checked = true;
    this.mark();
  }

  /** After a unit is fitted the next free place is the likely one. */
  advance(row) {
    if (!["applied", "problem"].includes(row.verdict) || !STEPS.includes(JSON.parse(row.line).step)) return;
    this.radios.find((radio) => radio.checked)?.removeAttribute("data-unscanned");
    this.step();
  }

  goOn(event) {
    if (!this.step()) return;
    event.preventDefault();
    const place = this.radios.find((radio) => radio.checked).closest("label").textContent.trim();
    show(document.querySelector("scan-pad > .verdict"), "ready", `Now at ${place}.`);
  }

  /** The free place behind the chosen one. */
  get next() {
    const here = this.radios.findIndex((radio) => radio.checked);
    return this.radios.slice(here + 1).find((radio) => !radio.dataset.taken);
  }

  /** Choose it; whether there was one. */
  step() {
    const { next } = this;
    if (!next) return false;
    next.checked = true;
    this.mark();
    return true;
  }

  mark() {
    const chosen = this.radios.find((radio) => radio.checked)?.value;
    for (const box of this.querySelectorAll("[data-position]")) {
      box.classList.toggle("chosen", box.dataset.position === chosen);
    }
    if (this.leads) this.leads.textContent = this.next ? told("free place") : this.page;
  }
}

customElements.define("stack-drawing", StackDrawing);
