// <unsent-badge>: always in sight. How many events wait, which need a person, what hinders sending.

import * as queue from "./queue.js";
import { told } from "./words.js";

class UnsentBadge extends HTMLElement {
  connectedCallback() {
    this.summary = this.querySelector("summary");
    this.trouble = this.querySelector(".trouble");
    document.addEventListener("queue:changed", () => this.draw());
    document.addEventListener("queue:trouble", (event) => {
      this.trouble.textContent = told(event.detail);
    });
    this.querySelector(".send").addEventListener("click", () => queue.send());
    queue.start();
    this.draw();
  }

  async draw() {
    const { waiting, refused, others } = await queue.state();
    const parts = [waiting.length ? `${waiting.length} not sent` : "All sent"];
    if (refused.length) parts.push(`${refused.length} to look at`);
    this.summary.querySelector("span").textContent = parts.map((part) => told(part)).join(", ");
    this.dataset.state = refused.length ? "look" : waiting.length ? "unsent" : "sent";
    this.querySelector(".others").textContent = others
      ? told(`${others} of them belong to somebody else and wait until that person signs in here.`)
      : "";
    this.querySelector("ul").replaceChildren(...refused.map((row) => this.item(row)));
  }

  item(row) {
    const { step, text } = JSON.parse(row.line);
    const item = document.createElement("li");
    const words = document.createElement("p");
    words.textContent = `${step} ${text ?? ""}: ${told(row.sentence)}`;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = told("I have dealt with it");
    button.addEventListener("click", () => queue.settle(row.seq));
    item.append(words, button);
    return item;
  }
}

customElements.define("unsent-badge", UnsentBadge);
