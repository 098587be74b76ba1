// Two codes that make one event: the box and the serial in it, or the old thing and the new one.

import { show } from "./verdict.js";

export class Pairs {
  constructor(pad) {
    this.pad = pad;
    this.first = ""; // the outer code, until the inner one comes
  }

  /** Whether an event can be made of this code, which may have waited for another. */
  ready(fields, text) {
    if (fields.alone) return this.alone(fields);
    return !fields.pairs || this.whole(fields, text);
  }

  /** The old thing's label cannot be read: its place says what comes off. */
  alone(fields) {
    delete fields.pairs;
    delete fields.alone;
    if (fields.position) return true;
    show(this.pad.output, "stopped", "Choose where the old one stood first.");
    return false;
  }

  /** Whether this code makes a pair whole; then `fields` bear both. */
  whole(fields, text) {
    delete fields.pairs;
    if (!this.first) {
      if (!this.standsHere(text)) return false;
      this.first = text;
      const then = this.pad.getAttribute("then");
      show(this.pad.output, "ready", then ?? `Box ${text}. Now scan the serial that is in it.`);
      return false;
    }
    const swap = this.pad.hasAttribute("swap");
    // A scanner reads the old one twice: that is no new one.
    if (swap && text === this.first) {
      show(this.pad.output, "ready", this.pad.getAttribute("then"));
      return false;
    }
    [fields.text, fields.with] = swap ? [text, this.first] : [this.first, text];
    this.first = "";
    return true;
  }

  /** Whether the record has this serial here; scanned a second time it is taken all the same. */
  standsHere(text) {
    const known = this.pad.getAttribute("stands");
    const plain = (code) => code.toUpperCase().replace(/[^A-Z0-9]/g, "");
    if (known === null || this.doubted === text) return true;
    if (known.split(" ").some((serial) => serial && plain(text).endsWith(plain(serial)))) return true;
    this.doubted = text;
    show(this.pad.output, "stopped", "That is not in this stack by the record. Look again; scan it once more to record it.");
    return false;
  }
}
