// What a lesson teaches about a hand scanner, and what its keys mean by it. Nothing here knows the
// page: two printed codes whose texts are known, held against what came, show keyboard and separator.
//
// Lesson: {back: [[came, meant], ...], separator: [signs], end: "Enter" | "Tab" | "none", median,
// pause (ms, see burst.js), sure, hints: [sentence, ...], at (ms)}

import { gaps, median, USUAL } from "./burst.js";
import { DEAD } from "./signs.js";

const GS = "\x1d";
const PREFIXES = [0, 3, 1]; // signs before the data: none; an identifier such as ]C1; GS for FNC1
const APART = 40; // ms: least pause that parts two codes of a scanner that sends no end
const MOST = 6; // signs that one separator may be spelled with

/** How a scanner is taken that had no lesson. */
export const usual = () => ({ ...USUAL, end: "Enter", back: [], separator: [], sure: false, hints: [] });

/**
 * Hold what came against the text of a printed code. Returns {map: Map(meant -> came), separator},
 * or null where it cannot be that code.
 */
export function held(signs, truth) {
  if (signs.includes(DEAD)) return null;
  for (const skip of PREFIXES) {
    const found = aligned(signs.slice(skip), truth);
    if (!found) continue;
    if (skip === 3) found.map.set("]", signs[0]);
    return found;
  }
  return null;
}

function aligned(signs, truth) {
  const [head, tail = ""] = truth.split(GS);
  const spelled = signs.length - head.length - tail.length;
  if (spelled < 0 || spelled > MOST || (!tail && spelled)) return null;
  const came = [...signs.slice(0, head.length), ...(tail ? signs.slice(-tail.length) : [])];
  const map = new Map();
  for (const [n, meant] of [...head, ...tail].entries()) {
    if ((map.get(meant) ?? came[n]) !== came[n]) return null;
    map.set(meant, came[n]);
  }
  return { map, separator: signs.slice(head.length, head.length + spelled) };
}

/**
 * Make a lesson out of two codes that were held against their texts. `raws`: what came, as "scan:raw"
 * tells it. Returns null where they contradict each other: they are not of one scanner.
 */
export function lesson([first, second], raws) {
  const map = new Map(first.map);
  for (const [meant, came] of second.map) {
    if ((map.get(meant) ?? came) !== came) return null;
    map.set(meant, came);
  }
  const back = new Map();
  const alike = new Set();
  for (const [meant, came] of map) {
    if (back.has(came)) alike.add(meant).add(back.get(came));
    back.set(came, meant);
  }
  const times = raws.map((raw) => raw.times);
  const widest = Math.max(...times.flatMap(gaps));
  const { end } = raws[1];
  const found = {
    back: [...back].filter(([, meant]) => !alike.has(meant)),
    separator: first.separator,
    end,
    median: Math.max(USUAL.median, Math.ceil(1.5 * Math.max(...times.map(median)))),
    // Where nothing stands between two codes, only the time does: nobody pulls a trigger twice in it.
    pause: end === "none" ? Math.max(APART, Math.ceil(3 * widest)) : Math.max(USUAL.pause, Math.ceil(2 * widest)),
    at: Date.now(),
  };
  const hints = [...hintsOf(found, map, [...alike])];
  return { ...found, hints, sure: !alike.size && separates(found.separator) && !dataToo(found) };
}

/** Whether every sign of a lesson's letters came in the other case: Caps Lock. */
export function shouted(map) {
  const letters = [...map].filter(([meant]) => /[A-Za-z]/.test(meant));
  const other = (sign) => (sign === sign.toUpperCase() ? sign.toLowerCase() : sign.toUpperCase());
  return letters.every(([, came]) => came.toLowerCase() !== came.toUpperCase()) &&
    letters.filter(([meant, came]) => came === other(meant)).length > letters.length / 2;
}

/** A separator that cannot be taken for data: not missing, and not digits that Alt left behind. */
const separates = (separator) => separator.length > 0 && !/^\d+$/.test(separator.join(""));

/** Whether the separator comes as a sign that codes hold as well. */
const dataToo = ({ separator, back }) =>
  separator.length === 1 && back.some(([came]) => came === separator[0]);

function* hintsOf(found, map, alike) {
  const spelled = found.separator.join("");
  if (!spelled) {
    yield "It leaves out the sign between two fields (GS1 separator, GS, FNC1): codes with several fields will be refused. Set it to send GS as Ctrl and ], or as |.";
  } else if (!separates(found.separator)) {
    yield `It sends the sign between two fields as the digits ${spelled}: they cannot be told from data. Set it to send GS as Ctrl and ], or as |.`;
  } else if (dataToo(found)) {
    yield `It sends ${spelled} between two fields, and a code may hold that sign too. Set it to send GS as Ctrl and ], or as |.`;
  }
  if (alike.length) {
    yield `These signs arrive alike and are refused: ${alike.join(" ")}. Set the scanner to the keyboard of this computer.`;
  }
  const named = keyboard(map);
  if (named) yield `This computer's keyboard is ${named}, the scanner is set to another one. It is put right here; on other computers set the scanner to ${named}.`;
  if (found.end === "none") yield "It sends nothing after a code, so two quick scans may run together. Set it to send Enter after each code.";
}

/** What the keyboards of the world are told apart by. Source: ISO/IEC 9995 national layouts (memory). */
function keyboard(map) {
  if (map.get("A") === "Q" && map.get("Q") === "A") return "French";
  if (map.get("Y") === "Z" && map.get("Z") === "Y") return "German";
  if (map.get('"') === "@") return "British";
  return [...map].some(([meant, came]) => meant !== came) ? "another one" : "";
}

/** The text that signs mean by a lesson; null where it does not tell. */
export function meant(signs, { back, separator }) {
  if (signs.includes(DEAD)) return null;
  const table = new Map(back);
  const moved = back.some(([came, sign]) => came !== sign);
  let text = "";
  for (let n = 0; n < signs.length; n += 1) {
    if (separates(separator) && separator.every((sign, i) => sign === signs[n + i])) {
      text += GS;
      n += separator.length - 1;
      continue;
    }
    const sign = signs[n];
    const plain = !moved || sign < "!" || sign === GS;
    if (!table.has(sign) && !plain) return null;
    text += table.get(sign) ?? sign;
  }
  return text;
}
