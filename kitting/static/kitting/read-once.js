// <read-once key who>: stands over the work until it is read once on this device, then folds to a
// line that says who read it and when. Other words under the same key are read anew.

import { told } from "../inventory/words.js";

class ReadOnce extends HTMLElement {
  connectedCallback() {
    this.fold = this.querySelector("details");
    this.words = [...this.querySelectorAll(".caution")].map((one) => one.textContent.trim());
    this.querySelector(".read").addEventListener("click", () => this.read());
    this.fold.addEventListener("toggle", () => this.cover());
    if (this.mark) this.fold.open = false;
    this.tell();
    this.cover();
  }

  /** What is kept of the reading: the words, who, when; nothing if these words were not read. */
  get mark() {
    const kept = JSON.parse(localStorage.getItem(`read ${this.getAttribute("key")}`) ?? "null");
    return kept && kept.words === this.words.join("\n") ? kept : null;
  }

  read() {
    const kept = { words: this.words.join("\n"), who: this.getAttribute("who"), at: Date.now() };
    localStorage.setItem(`read ${this.getAttribute("key")}`, JSON.stringify(kept));
    this.fold.open = false;
    this.tell();
    this.fold.querySelector("summary").focus();
  }

  tell() {
    const { mark } = this;
    if (!mark) return;
    const when = new Date(mark.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    this.querySelector(".read-by").textContent = told(`read by ${mark.who}, ${when}`);
  }

  /** While it lies over the page, nothing under it is pressed. */
  cover() {
    for (const pad of document.querySelectorAll("scan-pad")) pad.inert = this.fold.open;
  }
}

customElements.define("read-once", ReadOnce);
