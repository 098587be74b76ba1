// Tells a hand scanner that types like a keyboard from a person who types, by its haste.

const MEDIAN = 35; // ms, largest median gap between characters
const PAUSE = 120; // ms, largest single gap
const SHORTEST = 4; // characters
const SEPARATOR = "\x1d"; // GS has no key: scanners send Ctrl+] or F8 for it

/** The character a key stands for: one character, or "" for none. */
export function character({ key, ctrlKey, altKey, metaKey }) {
  if (key === "F8" || (ctrlKey && key === "]")) return SEPARATOR;
  if (ctrlKey || altKey || metaKey) return "";
  return key.length === 1 ? key : "";
}

/** Collects keys with their times in ms. */
export class Burst {
  text = "";
  times = [];

  /** Take a character; one that comes late begins anew. Returns whether it began. */
  take(letter, time) {
    const begins = !this.times.length || time - this.times.at(-1) > PAUSE;
    if (begins) this.clear();
    this.text += letter;
    this.times.push(time);
    return begins;
  }

  /** The scanned text that ends now, or "" if a person typed it. */
  end(time) {
    const { text, times } = this;
    this.clear();
    if (text.length < SHORTEST || time - times.at(-1) > PAUSE) return "";
    const gaps = times.slice(1).map((one, i) => one - times[i]);
    gaps.sort((a, b) => a - b);
    return gaps[Math.floor(gaps.length / 2)] <= MEDIAN ? text : "";
  }

  /** Whether the keys so far come in a scanner's haste. */
  get hasty() {
    return this.times.length > 2 && this.times.at(-1) - this.times.at(-3) <= 2 * MEDIAN;
  }

  clear() {
    this.text = "";
    this.times = [];
  }
}
