// <confirm-all step subject target kind via>: one tap sends one event for each line that bears
// data-text or data-subject, each once however often it is pressed, and writes beside each what came
// of it. A line may bear data-target and data-kind of its own.

import * as queue from "./queue.js";
import { show, WORDS } from "./verdict.js";

class ConfirmAll extends HTMLElement {
  connectedCallback() {
    this.output = this.querySelector(".verdict");
    this.lines = new Map();
    this.begun = new Set(); // a list that is drawn anew meanwhile has other lines for the same things
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
    const all = [...this.querySelectorAll("[data-text], [data-subject]")];
    const lines = all.filter((line) => !this.begun.has(this.thing(line)));
    for (const line of lines) {
      this.begun.add(this.thing(line));
      const fields = { step: this.getAttribute("step"), via: this.getAttribute("via") ?? "photo" };
      for (const name of ["text", "subject", "target", "kind"]) {
        const said = line.dataset[name] || this.getAttribute(name);
        if (said) fields[name] = said;
      }
      try {
        this.lines.set((await queue.add(fields)).id, line);
      } catch (error) {
        this.begun.delete(this.thing(line));
        button.disabled = false;
        return show(this.output, "refused", `This device could not keep it: ${error.message}. Press again.`);
      }
    }
    button.disabled = false;
    if (lines.length) show(this.output, "saved", `${lines.length} are kept on this device.`);
  }

  thing(line) {
    return `${line.dataset.text ?? ""} ${line.dataset.subject ?? ""}`;
  }

  answered(row) {
    const line = this.lines.get(row.id);
    if (!line) return;
    line.dataset.verdict = row.verdict;
    const came = line.querySelector(".came");
    if (came) came.textContent = WORDS[row.verdict] ?? row.verdict;
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
