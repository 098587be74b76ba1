// <stack-drawing>: a tap on a place of the drawing chooses that place in the list beside it.

// What is said of a place is done with it: the next free one is meant next.
const STEPS = ["fit", "find_standing"];

class StackDrawing extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => this.choose(event.target.closest("[data-position]")));
    document.addEventListener("change", () => this.mark());
    document.addEventListener("answered", (event) => this.advance(event.detail));
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
    const here = this.radios.findIndex((radio) => radio.checked);
    const next = this.radios.slice(here + 1).find((radio) => !radio.dataset.taken);
    if (next) next.checked = true;
    this.mark();
  }

  mark() {
    const chosen = this.radios.find((radio) => radio.checked)?.value;
    for (const box of this.querySelectorAll("[data-position]")) {
      box.classList.toggle("chosen", box.dataset.position === chosen);
    }
  }
}

customElements.define("stack-drawing", StackDrawing);
