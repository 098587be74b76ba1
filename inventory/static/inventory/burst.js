// Tells a hand scanner that types like a keyboard from a person who types, by its haste.

/** How a scanner types unless its lesson taught otherwise; all in ms. */
export const USUAL = {
  median: 35, // largest median gap between characters
  pause: 120, // largest single gap
};
const STUTTER = 1_500; // ms: a pause up to here may tear one code in two, on a machine at its limit
const SHORTEST = 4; // characters

/** Collects signs with their times in ms. */
export class Burst {
  signs = [];
  times = [];
  torn = false; // keys that came shortly before may be the first part of this code
  open = -Infinity; // when the latest key came that no end followed
  within = STUTTER; // ms after it in which what comes may be the rest of the same code

  constructor(limits = USUAL) {
    this.limits = limits;
  }

  /**
   * Take a sign; one that comes late begins anew. Returns {begins, half}; half: what had come
   * before it looked like a scan that never ended.
   */
  take(sign, time) {
    const gap = time - this.open;
    const begins = gap > this.limits.pause || !this.signs.length;
    const half = begins && this.isScan;
    if (begins) this.clear(gap < this.within);
    this.signs.push(sign);
    this.times.push(time);
    this.open = time;
    return { begins, half };
  }

  /**
   * What ends now: {signs, times} of a scan, {again: true} for a scan that did not come whole (half
   * a code must never count as one), {} for what a person typed.
   */
  end(time) {
    const { signs, times, torn, isScan } = this;
    this.clear();
    if (!isScan) return {};
    return torn || time - times.at(-1) > this.limits.pause ? { again: true } : { signs, times };
  }

  /** Whether the signs so far came in a scanner's haste. */
  get hasty() {
    return this.times.length > 2 && median(this.times) <= this.limits.median;
  }

  /** Whether they are as many and as hasty as a scan's. */
  get isScan() {
    return this.signs.length >= SHORTEST && this.hasty;
  }

  clear(torn = false) {
    this.signs = [];
    this.times = [];
    this.torn = torn;
    this.open = -Infinity;
    this.within = STUTTER;
  }

  /** What was taken for over had no end: what comes up to `within` ms behind it is its rest. */
  reopen(time, within = STUTTER) {
    this.open = time;
    this.within = within;
  }
}

/** ms from one time to the next. */
export const gaps = (times) => times.slice(1).map((one, i) => one - times[i]);

/** The middle gap; Infinity of fewer than two times. */
export function median(times) {
  const sorted = gaps(times).sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? Infinity;
}
