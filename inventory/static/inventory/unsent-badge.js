// <unsent-badge>: always in sight. How many events wait, which need a person, what hinders sending.

import { saveFile } from "./queue-file.js";
import * as queue from "./queue.js";
import { told } from "./words.js";

const LASTING = "This browser keeps it even when the device runs out of room.";
const FLEETING = "This browser may throw it away when the device runs out of room: send it soon.";
const LEFT = "If that person has left, save it to a file for the office.";

/** "unbox S1" of an event; a photo or words beside one. */
function what(row) {
  if (row.kind) return row.kind === "photo" ? told("A photo") : told(`Your words: ${row.text}`);
  const { step, text } = JSON.parse(row.line);
  return `${step} ${text ?? ""}`.trim();
}

class UnsentBadge extends HTMLElement {
  asked = 0;

  connectedCallback() {
    this.summary = this.querySelector("summary");
    this.trouble = this.querySelector(".trouble");
    document.addEventListener("queue:changed", () => this.draw());
    document.addEventListener("queue:trouble", (event) => {
      this.trouble.textContent = told(event.detail);
    });
    this.querySelector(".send").addEventListener("click", () => queue.send());
    this.file = this.querySelector(".file");
    this.file.addEventListener("click", saveFile);
    queue.start().then((lasting) => {
      this.querySelector(".lasting").textContent = told(lasting ? LASTING : FLEETING);
    });
    this.draw();
  }

  /** What is said now is older than what was asked for, as long as it is busy. */
  async draw() {
    this.asked += 1;
    const turn = this.asked;
    this.setAttribute("aria-busy", "true");
    const { waiting, beside, refused, others } = await queue.state();
    if (turn !== this.asked) return;
    const photos = beside.filter((row) => row.kind === "photo").length;
    const parts = [];
    if (waiting.length || beside.length > photos) parts.push(`${waiting.length || beside.length} not sent`);
    if (photos) parts.push(photos > 1 ? `${photos} photos not sent` : "1 photo not sent");
    if (!parts.length) parts.push("All sent");
    if (refused.length) parts.push(`${refused.length} to look at`);
    this.summary.querySelector("span").textContent = parts.map((part) => told(part)).join(", ");
    this.dataset.state = refused.length ? "look" : waiting.length || beside.length ? "unsent" : "sent";
    this.querySelector(".others").textContent = others
      ? `${told(`${others} of them belong to somebody else and wait until that person signs in here.`)} ${told(LEFT)}`
      : "";
    this.file.hidden = !(waiting.length + beside.length + refused.length);
    this.querySelector("ul").replaceChildren(...refused.map((row) => this.item(row)));
    this.removeAttribute("aria-busy");
  }

  item(row) {
    const item = document.createElement("li");
    const words = document.createElement("p");
    words.textContent = `${what(row)}: ${told(row.sentence)}`;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = told("I have dealt with it");
    button.addEventListener("click", () => queue.settle(row));
    item.append(words, button);
    return item;
  }
}

customElements.define("unsent-badge", UnsentBadge);
