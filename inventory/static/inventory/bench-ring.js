// <bench-ring address list>: what a crew asks for rings here until somebody takes it.

import * as queue from "./queue.js";
import { signal } from "./signals.js";

const EVERY = 20_000; // ms between two looks, and two rings

class BenchRing extends HTMLElement {
  connectedCallback() {
    this.timer = setInterval(() => this.look(), EVERY);
    this.heard = () => this.look(true);
    document.addEventListener("queue:answer", this.heard);
    this.look();
  }

  disconnectedCallback() {
    clearInterval(this.timer);
    document.removeEventListener("queue:answer", this.heard);
  }

  async look(silent = false) {
    try {
      const reply = await fetch(this.getAttribute("address"));
      if (reply.ok) this.draw(await reply.json(), silent);
    } catch {
      // Without a network it rings again at the next look; the badge says so.
    }
  }

  draw(asked, silent) {
    this.hidden = !asked.length;
    this.replaceChildren(...asked.map((one) => this.line(one)));
    if (asked.length && !silent) signal("otherwise");
  }

  line(one) {
    const line = document.createElement("p");
    const link = document.createElement("a");
    link.href = this.getAttribute("list");
    link.textContent = `${one.code}: ${one.words}`;
    const take = document.createElement("button");
    take.type = "button";
    take.textContent = "I take it";
    take.addEventListener("click", () => this.take(one, take));
    line.append(link, " ", take);
    return line;
  }

  take(one, button) {
    button.disabled = true;
    queue.add({ step: "request_taken", target: one.code, subject: one.subject, via: "tap" });
  }
}

customElements.define("bench-ring", BenchRing);
