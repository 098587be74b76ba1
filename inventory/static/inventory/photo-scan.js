// <photo-scan>: photographs a code, lets the server read it, and takes what it accepts as a scan.

import { post } from "./queue.js";
import { show } from "./verdict.js";

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

  take(output, { codes, refused }) {
    // Our labels carry one text in two symbols: that is one code.
    const accepted = [...new Set(codes.filter((code) => code.accepted).map((code) => code.text))];
    if (refused) return show(output, "refused", refused.message);
    if (accepted.length === 1) {
      const detail = { text: accepted[0], via: "photo" };
      return document.dispatchEvent(new CustomEvent("scan", { detail }));
    }
    const words = accepted.length
      ? "Several codes are in the photo. Go nearer, to one of them."
      : "No code we know is in the photo. Go nearer, or type it.";
    show(output, "refused", words);
  }
}

customElements.define("photo-scan", PhotoScan);
