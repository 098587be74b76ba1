// <tell-once step subject>: this page was shown on this device; an event says so, once.

import * as queue from "./queue.js";

const told = new Set();

class TellOnce extends HTMLElement {
  connectedCallback() {
    const step = this.getAttribute("step");
    const subject = this.getAttribute("subject");
    const key = `${step} ${subject} ${this.getAttribute("since")}`;
    if (told.has(key) || sessionStorage.getItem(key)) return;
    told.add(key);
    sessionStorage.setItem(key, "told");
    queue.add({ step, subject, via: "tap" });
  }
}

customElements.define("tell-once", TellOnce);
