// After a stop nothing counts until somebody has seen it: by the printed command "seen" or a touch.
// At the bench several people scan and none of them looks up; it outlives a change of page.

import { show } from "./verdict.js";

const KEY = "lastbolt-stop";
const STOPS = ["stopped", "dispute"];
const STEPS = ["pick", "load"];
const UNSEEN = "Nothing counts until it is seen: scan Seen, or touch it.";

/** The gate of one pad. */
export class Gate {
  constructor(pad) {
    this.pad = pad;
    this.guards = STEPS.includes(pad.getAttribute("step")) && !document.body.classList.contains("phone");
    this.button = pad.querySelector("button.seen");
    this.lead = pad.querySelector("a.lead");
    this.button?.addEventListener("click", () => this.open());
    if (this.shut) this.draw();
  }

  /** What stopped, as {verdict, sentence, id}; null where nothing did or it was seen. */
  get shut() {
    return this.guards ? JSON.parse(sessionStorage.getItem(KEY) ?? "null") : null;
  }

  /** Whether a scan does not count, because the stop before it was not seen. */
  holds() {
    if (!this.shut) return false;
    this.draw();
    return true;
  }

  /** The verdict of a scan: a stop shuts. */
  take({ verdict, sentence, id }) {
    if (!this.guards || !STOPS.includes(verdict)) return;
    sessionStorage.setItem(KEY, JSON.stringify({ verdict, sentence, id }));
    this.draw();
  }

  open() {
    if (!this.shut) return show(this.pad.output, "ready", "Nothing waits to be seen.");
    sessionStorage.removeItem(KEY);
    for (const one of [this.button, this.lead]) one?.toggleAttribute("hidden", true);
    show(this.pad.output, "ready", "Seen. Scan the next thing.");
  }

  draw() {
    const { verdict, sentence, id } = this.shut;
    this.button?.toggleAttribute("hidden", false);
    if (this.lead && verdict === "stopped") {
      this.lead.hidden = false;
      this.lead.search = `?event=${id}`;
    }
    show(this.pad.output, verdict, `${sentence} ${UNSEEN}`);
  }
}
