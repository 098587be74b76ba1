// Tells a hand scanner that types like a keyboard from a person who types, by its haste.

const MEDIAN = 35; // ms, largest median gap between characters
const PAUSE = 120; // ms, largest single gap
const STUTTER = 600; // ms: a pause up to here may tear one code in two
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
  torn = false; // keys that came shortly before may be the first part of this code

  /** Take a character; one that comes late begins anew. Returns whether it began. */
  take(letter, time) {
    const gap = time - (this.times.at(-1) ?? -Infinity);
    const begins = gap > PAUSE;
    if (begins) this.clear(gap < STUTTER);
    this.text += letter;
    this.times.push(time);
    return begins;
  }

  /**
   * What ends now: {text} of a scan, {again: true} for a scan that did not come whole (half a code
   * must never count as one), {} for what a person typed.
   */
  end(time) {
    const { text, times, torn } = this;
    this.clear();
    if (text.length < SHORTEST || median(times) > MEDIAN) return {};
    return torn || time - times.at(-1) > PAUSE ? { again: true } : { text };
  }

  /** Whether the keys so far come in a scanner's haste. */
  get hasty() {
    return this.times.length > 2 && median(this.times) <= MEDIAN;
  }

  clear(torn = false) {
    this.text = "";
    this.times = [];
    this.torn = torn;
  }
}

function median(times) {
  const gaps = times.slice(1).map((one, i) => one - times[i]);
  gaps.sort((a, b) => a - b);
  return gaps[Math.floor(gaps.length / 2)] ?? Infinity;
}
