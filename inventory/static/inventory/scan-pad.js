// <scan-pad step subject target since>: what is scanned, photographed or typed here becomes an event.
// since: the record mark as the page was drawn; then the event says what this browser knew last.

import { fieldsOf, unclear } from "./fields.js";
import { Gate } from "./gate.js";
import * as outcomes from "./outcomes.js";
import * as queue from "./queue.js";
import { Pairs } from "./pairs.js";
import "./scan.js";
import { SharedWalk } from "./shared-walk.js";
import { Turns } from "./turns.js";
import { correct, show } from "./verdict.js";
import { Wall } from "./wall.js";
import * as whose from "./whose.js";

const REARM = 1_500; // ms before the same shared code counts again
const PLACE = "Say where it stands: stack and place in the stack.";
const forget = (input) => (input.type === "checkbox" ? (input.checked = false) : (input.value = ""));

class ScanPad extends HTMLElement {
  connectedCallback() {
    this.output = this.querySelector(".verdict");
    this.extras = this.querySelector("form.extras");
    this.last = { text: "", time: 0 };
    this.wall = new Wall(this);
    this.gate = new Gate(this);
    const shared = { walk: SharedWalk, turns: Turns }[this.getAttribute("shared")];
    this.shared = shared && new shared(this);
    whose.draw();
    this.sent = new Set(); // ids of this page's own events
    this.pairs = new Pairs(this);
    this.abort = new AbortController();
    const once = { signal: this.abort.signal };
    document.addEventListener("scan", (event) => this.take(event.detail.text, event.detail.via), once);
    const again = ({ detail }) => show(this.output, "refused", detail.why);
    document.addEventListener("scan:again", again, once);
    document.addEventListener("queue:answer", (event) => this.answered(event.detail), once);
    this.querySelector("form.typed")?.addEventListener("submit", (event) => this.typed(event), once);
    this.querySelector(".undo")?.addEventListener("click", () => this.undo(), once);
  }

  disconnectedCallback() {
    this.abort.abort();
  }

  typed(event) {
    event.preventDefault();
    const input = event.target.elements.text;
    if (input.value.trim()) this.take(input.value.trim(), "hand");
    input.value = "";
  }

  /** One code: choose a target by it, hold it as the first of a pair, or send it. */
  async take(text, via) {
    if (this.inert) return show(this.output, "stopped", "Read the cautions first."); // they lie over it
    if (this.wall.takes(text)) return;
    if (this.gate.holds() || this.chooses(text)) return;
    if (this.shared) return this.shared.take(text, via);
    const fields = { step: this.getAttribute("step"), text, via, rearm: this.rearms(text) };
    for (const name of ["subject", "target", "since"]) {
      if (this.getAttribute(name)) fields[name] = this.getAttribute(name);
    }
    const why = this.extras && unclear(this.extras);
    if (why) return show(this.output, "refused", why);
    // The record would stop it too, hours later where there is no signal.
    if (this.lacksPlace() && (await outcomes.judge(fields)).verdict !== "stopped") return show(this.output, "stopped", PLACE);
    if (this.extras) Object.assign(fields, fieldsOf(this.extras));
    if (!this.pairs.ready(fields, text)) return;
    await this.send(this.wall.counted(fields));
  }

  async send(fields) {
    const start = performance.now();
    const hands = whose.hands();
    try {
      const told = await outcomes.judge(fields);
      const row = await queue.add(hands ? { ...fields, hands } : fields);
      this.sent.add(row.id);
      outcomes.note(row, fields, told);
      if (fields.step !== "undo") this.done = [...this.done, row.id];
      // The server may have been quicker than the browser's store.
      if (this.output.dataset.event !== row.id) show(this.output, told.verdict, told.sentence);
      performance.measure("outcome", { start });
      this.extras?.querySelectorAll("[data-once]").forEach(forget);
    } catch (error) {
      show(this.output, "refused", `This device could not keep it: ${error.message}. Write it down.`);
    }
  }

  answered(row) {
    const line = JSON.parse(row.line);
    const alike = ["undo", this.getAttribute("step")].includes(line.step) && !this.shared;
    const here = alike && (line.subject ?? "") === (this.getAttribute("subject") ?? "");
    if (!here && !this.sent.has(row.id)) return;
    this.wall.answered(row, line);
    if (line.step === "badge" && this.gate.holds()) return;
    this.output.dataset.event = row.id;
    (outcomes.differs(row) ? correct : show)(this.output, row.verdict, row.sentence);
    if (line.step !== "undo") this.gate.take(row);
    this.dispatchEvent(new CustomEvent("answered", { bubbles: true, detail: row }));
  }

  /** A label of a bag or place that can be chosen here is the choice, not a thing. */
  chooses(text) {
    const wanted = text.trim().toUpperCase();
    const code = (one) => (one.dataset.code ?? one.value).toUpperCase();
    const choice = [...this.querySelectorAll("[name=target]")].flatMap((input) =>
      [...(input.options ?? input.list?.options ?? [input])],
    ).find((one) => code(one) === wanted);
    if (!choice) return false;
    if (choice.dataset.code) this.querySelector("[name=target][data-listed]").value = choice.value;
    else if (choice.tagName === "OPTION") choice.selected = true;
    else choice.checked = true;
    show(this.output, "ready", `Now at ${choice.labels?.[0]?.textContent.trim() || choice.label || choice.value}.`);
    return true;
  }

  /** Whether this page asks where a thing stands, and nobody has said it. */
  lacksPlace() {
    const places = [...this.querySelectorAll("[type=radio][name=position]")];
    return places.length > 0 && !places.some(({ checked }) => checked);
  }

  rearms(text) {
    const now = performance.now();
    const again = text === this.last.text && now - this.last.time < REARM;
    this.last = { text, time: now };
    return !again;
  }

  async undo() {
    const [id, subject] = [this.done.at(-1), this.getAttribute("subject")];
    if (!id) return show(this.output, "ready", "There is nothing to undo on this page.");
    this.done = this.done.slice(0, -1);
    await this.send({ step: "undo", via: "tap", reverses: id, ...(subject && { subject }) });
  }

  /** Ids of this page's events, newest last; they outlive a reload. */
  get done() {
    return JSON.parse(sessionStorage.getItem(`done ${location.pathname}`) ?? "[]");
  }

  set done(ids) {
    sessionStorage.setItem(`done ${location.pathname}`, JSON.stringify(ids.slice(-50)));
  }
}

customElements.define("scan-pad", ScanPad);
