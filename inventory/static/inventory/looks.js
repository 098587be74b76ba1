// When a code that the live camera reads counts as a scan: aimed at, sure, and once per look.

const GONE = 1_500; // ms without a read: the code was gone from view
const TWICE = 1_000; // ms within which a line code has to be read alike a second time
const AIM = 1 / 3; // a code whose middle is no farther off the picture's, in halves of it, is aimed at
// Square codes mend their own errors and say when they cannot; a line code can be misread (quaggaJS
// issue 237).
const SQUARE = new Set(["QRCode", "DataMatrix"]);

export class Looks {
  seen = new Map(); // text -> ms of its latest read
  sure = new Set(); // texts that counted in this look

  /**
   * What to do after a pass over a frame at `now` ms: {text} to scan, {several: true} to say that
   * the person has to aim, {} for nothing. A quick pass knows line codes only, so what stands beside
   * one it cannot tell: it needs an aim.
   */
  after({ codes, full }, now) {
    this.forget(now);
    const read = codes.filter(plausible).sort((a, b) => a.off - b.off);
    const again = new Set();
    for (const { text } of read) {
      if (this.seen.has(text) && now - this.seen.get(text) <= TWICE) again.add(text);
      this.seen.set(text, now);
    }
    const alone = full && new Set(read.map(({ text }) => text)).size === 1;
    const first = read[0];
    if (!first) return {};
    if (first.off > AIM && !alone) return full ? { several: true } : {};
    if (this.sure.has(first.text)) return {};
    if (!SQUARE.has(first.format) && !again.has(first.text)) return {};
    this.sure.add(first.text);
    return { text: first.text };
  }

  /** What was not read for a while was gone: seen anew it is another look. */
  forget(now) {
    for (const [text, at] of this.seen) {
      if (now - at <= GONE) continue;
      this.seen.delete(text);
      this.sure.delete(text);
    }
  }
}

/** The digits of an ITF-14 have to be right by its check digit (GS1 General Specifications 7.9). */
function plausible({ text, format }) {
  if (format !== "ITF" && format !== "ITF14") return true;
  const sum = [...text].reduce((total, digit, n) => total + digit * (n % 2 ? 1 : 3), 0);
  return /^\d{14}$/.test(text) && sum % 10 === 0;
}

/** The part of the frame that is seen (object-fit: cover): what nobody sees must not be scanned. */
export function shown({ clientWidth, clientHeight, videoWidth, videoHeight }) {
  const scale = Math.max(clientWidth / videoWidth, clientHeight / videoHeight);
  const [width, height] = [clientWidth / scale, clientHeight / scale];
  return [(videoWidth - width) / 2, (videoHeight - height) / 2, width, height];
}
