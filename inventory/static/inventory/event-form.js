// <event-form>: a form whose inputs are the fields of one event; a photo and words in it go beside.
// on="words": an answer with these words asks for the same once more, until one is without them.

import * as enclosures from "./enclosures.js";
import { fieldsOf, unclear } from "./fields.js";
import * as queue from "./queue.js";
import { takenAt } from "./photo-place.js";
import { show, told } from "./verdict.js";

/** Whether nothing is chosen or written in an input, or in a fieldset of them. */
function empty(one) {
  const said = (input) => (/radio|checkbox/.test(input.type) ? input.checked : input.value.trim());
  return ![...(one.elements ?? [one])].some(said);
}

class EventForm extends HTMLElement {
  connectedCallback() {
    this.form = this.querySelector("form");
    this.output = this.querySelector(".verdict");
    this.sent = new Set();
    this.abort = new AbortController();
    const once = { signal: this.abort.signal };
    // Without signal the page kept is that of no thing, or of another one: its address says which.
    const asked = new URLSearchParams(location.search);
    for (const one of this.form.querySelectorAll("[data-asked]")) one.value = asked.get(one.dataset.asked) ?? "";
    this.form.addEventListener("submit", (event) => this.submit(event), once);
    document.addEventListener("queue:answer", (event) => this.answered(event.detail), once);
    if (this.hasAttribute("at-once")) {
      // The photo is the whole message: no second touch to send it.
      this.form.addEventListener("change", () => this.form.requestSubmit(), once);
    }
  }

  disconnectedCallback() {
    this.abort.abort();
  }

  async submit(event) {
    event.preventDefault();
    const why = unclear(this.form);
    if (why) return this.tell("refused", why);
    const step = new FormData(this.form).get("step");
    const asked = [...this.form.querySelectorAll("[data-for]")].find((one) => one.dataset.for === step && empty(one));
    if (asked) return this.tell("stopped", asked.dataset.lacks);
    const fields = { via: "tap", ...fieldsOf(this.form) };
    const photo = this.form.querySelector("input[type=file]")?.files[0];
    const words = this.form.querySelector("[name=words]")?.value.trim();
    const beside = [];
    delete fields.words;
    if (photo) Object.assign(fields, await takenAt(photo));
    try {
      if (photo && enclosures.keepsPhotos()) {
        beside.push(await enclosures.photo(photo, queue.me(), fields.subject));
        fields.photo = beside[0].id;
      } else if (photo) fields.photo = await this.store(photo, fields.subject);
    } catch (error) {
      return this.tell("refused", error.words ?? "No signal: the photo cannot be sent from here yet.");
    }
    if (words) {
      beside.push(enclosures.note(words, queue.me(), fields.subject));
      fields.note = beside.at(-1).id;
    }
    const row = await queue.add(fields, beside);
    this.sent.add(row.id);
    this.tell("saved", "It is kept on this device.");
    if (fields.step !== "undo") this.offerBack(row.id, fields.subject);
    if (this.hasAttribute("again")) this.again();
  }

  /** On a phone what one touch did, one touch takes back: nobody is asked "are you sure?" before. */
  offerBack(id, subject) {
    this.querySelector(".take-back")?.remove();
    if (!this.output || !document.body.classList.contains("phone")) return;
    const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet take-back" });
    button.dataset.of = id;
    button.textContent = told("Take it back");
    button.addEventListener("click", async () => {
      button.remove();
      const row = await queue.add({ step: "undo", via: "tap", reverses: id, ...(subject && { subject }) });
      this.sent.add(row.id);
      this.tell("saved", "It is kept on this device.");
    });
    this.output.after(button);
  }

  /** Empty for the next one: what is marked stays, what counts goes on by one. */
  again() {
    for (const one of this.form.querySelectorAll("[data-stays]")) one.defaultValue = one.value;
    for (const one of this.form.querySelectorAll("[data-counts]")) {
      one.defaultValue = /^\d+$/.test(one.value) ? Number(one.value) + 1 : "";
    }
    this.form.reset();
  }

  /** At once, where a browser cannot keep it: on plain http. */
  async store(photo, subject) {
    const body = new FormData();
    body.append("photo", photo);
    if (subject) body.append("subject", subject);
    return (await queue.post("/api/photos", body)).sha256;
  }

  answered(row) {
    if (!this.sent.has(row.id)) return;
    this.tell(row.verdict, row.sentence);
    const nothing = /refused|stopped/.test(row.verdict);
    if (nothing) this.querySelector(`.take-back[data-of="${row.id}"]`)?.remove();
    if (JSON.parse(row.line).step === "undo") return;
    this.dispatchEvent(new CustomEvent("answered", { bubbles: true, detail: row }));
    const on = this.getAttribute("on");
    if (on && row.sentence.includes(on)) return this.form.requestSubmit();
    const next = this.getAttribute("next");
    if (next && !nothing) location.assign(next);
  }

  tell(verdict, sentence) {
    if (this.output) show(this.output, verdict, sentence);
  }
}

customElements.define("event-form", EventForm);
