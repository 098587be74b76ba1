// <record-says>: answers that were not what this phone had said, in sight until a person has seen them.

import * as outcomes from "./outcomes.js";
import { WORDS } from "./verdict.js";
import { told } from "./words.js";

class RecordSays extends HTMLElement {
  connectedCallback() {
    document.addEventListener("queue:answer", async ({ detail }) => {
      await outcomes.noteAnswer(detail);
      this.draw();
    });
    this.draw();
  }

  async draw() {
    const rows = await outcomes.unseen();
    this.hidden = !rows.length;
    this.querySelector("ul").replaceChildren(...rows.map((row) => this.item(row)));
  }

  item(row) {
    const item = document.createElement("li");
    const words = document.createElement("p");
    const word = document.createElement("strong");
    word.textContent = `${told(WORDS[row.otherwise.verdict])}: `;
    words.append(word, told(`${row.otherwise.sentence} Here it said: ${row.said}`));
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = told("I have seen it");
    button.addEventListener("click", async () => {
      await outcomes.seen(row.id);
      this.draw();
    });
    item.append(words, button);
    return item;
  }
}

customElements.define("record-says", RecordSays);
