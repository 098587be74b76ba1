// <confirm-all step subject target kind>: one tap sends one event for each line that bears data-text,
// each once however often it is pressed, and writes beside each line what came of it.

import * as queue from "./queue.js";
import { show, WORDS } from "./verdict.js";

class ConfirmAll extends HTMLElement {
  connectedCallback() {
    this.output = this.querySelector(".verdict");
    this.lines = new Map();
    this.abort = new AbortController();
    const once = { signal: this.abort.signal };
    this.querySelector("button")?.addEventListener("click", (event) => this.confirm(event.target), once);
    document.addEventListener("queue:answer", (event) => this.answered(event.detail), once);
  }

  disconnectedCallback() {
    this.abort.abort();
  }

  async confirm(button) {
    button.disabled = true;
    const lines = [...this.querySelectorAll("[data-text]:not([data-sent])")];
    for (const line of lines) {
      line.dataset.sent = "yes";
      const fields = { step: this.getAttribute("step"), text: line.dataset.text, via: "photo" };
      for (const name of ["subject", "target", "kind"]) {
        if (this.getAttribute(name)) fields[name] = this.getAttribute(name);
      }
      try {
        this.lines.set((await queue.add(fields)).id, line);
      } catch (error) {
        delete line.dataset.sent;
        button.disabled = false;
        return show(this.output, "refused", `This device could not keep it: ${error.message}. Press again.`);
      }
    }
    show(this.output, "saved", `${lines.length} are kept on this device.`);
  }

  answered(row) {
    const line = this.lines.get(row.id);
    if (!line) return;
    line.dataset.verdict = row.verdict;
    line.querySelector(".came").textContent = WORDS[row.verdict] ?? row.verdict;
    const all = [...this.lines.values()];
    const bad = all.filter((one) => one.dataset.verdict && !["applied", "noted"].includes(one.dataset.verdict));
    if (bad.length) line.title = row.sentence;
    if (bad.includes(line)) return show(this.output, row.verdict, row.sentence);
    if (!bad.length && all.every((one) => one.dataset.verdict)) {
      show(this.output, "applied", `All ${all.length} are taken.`);
    }
  }
}

customElements.define("confirm-all", ConfirmAll);
