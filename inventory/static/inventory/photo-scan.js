// <photo-scan>: photographs a code, lets the server read it, and takes the code that
// the server chose as a scan; what else is on the label is shown.

import { post } from "./queue.js";
import { show } from "./verdict.js";
import { told } from "./words.js";

class PhotoScan extends HTMLElement {
  connectedCallback() {
    this.querySelector("input").addEventListener("change", (event) => this.read(event.target));
  }

  async read(input) {
    const output = this.closest("scan-pad").querySelector(".verdict");
    const body = new FormData();
    body.append("photo", input.files[0]);
    input.value = "";
    show(output, "ready", "Reading the photo ...", true);
    try {
      const answer = await post("/api/read", body);
      this.take(output, answer);
    } catch (error) {
      show(output, "refused", error.words ?? "No signal to read a photo. Type the code instead.");
    }
  }

  take(output, { refused, label }) {
    this.tell(refused ? [] : label.codes.filter((code) => !code.chosen));
    if (refused) return show(output, "refused", refused.message);
    const chosen = label.codes.find((code) => code.chosen);
    if (!chosen) return show(output, "refused", label.question);
    const detail = { text: chosen.text, via: "photo" };
    document.dispatchEvent(new CustomEvent("scan", { detail }));
  }

  /** Show what else stands on the label; it was not scanned. */
  tell(others) {
    this.querySelector("ul")?.remove();
    if (!others.length) return;
    const list = document.createElement("ul");
    list.className = "plain soft";
    for (const { text, words } of others) {
      const row = document.createElement("li");
      row.textContent = told(`Also there: ${text}, ${words}`);
      list.append(row);
    }
    this.append(list);
  }
}

customElements.define("photo-scan", PhotoScan);
