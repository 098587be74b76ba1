// A number as a person types it, read as inventory/typed_numbers.py reads it: 1,25 or 1.25 or 1 250. What
// can be read two ways is a question. The table of cases is in tests/inventory/test_typed_numbers.py.

const NUMBER = /^[+-]?[0-9]+(?:[.,' \u00a0\u202f][0-9]+)*$/;
const THOUSANDS = /^[1-9][0-9]{0,2}(?:([.,' \u00a0\u202f])[0-9]{3})(?:\1[0-9]{3})*$/;
const TWO_WAYS = /^[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}$/;
// Unit -> decimal places that its finest unit lies below it: 1 m is 1000 mm, 1 l is 1,000,000 ul.
const PLACES = { "": 0, mm: 0, cm: 1, m: 3, ul: 0, ml: 3, l: 6 };

/** "1.250,5" as {value: "1250.5"}; "1.250" as {ways: ["1250", "1.25"]}; {} for no number. */
export function read(text) {
  const given = text.trim();
  if (!NUMBER.test(given)) return {};
  if (TWO_WAYS.test(given)) return { ways: ways(given) };
  const marks = given.match(/[.,]/g) ?? [];
  const mark = marks.length === 1 || new Set(marks).size > 1 ? marks.at(-1) : "";
  const [whole, part = "", more] = mark ? given.split(mark) : [given];
  const bare = whole.replace(/^[+-]/, "");
  const parted = /[^0-9]/.test(bare) && !THOUSANDS.test(bare);
  if (more !== undefined || parted || /[^0-9]/.test(part)) return {};
  const sign = given.startsWith("-") ? "-" : "";
  return { value: sign + bare.replace(/[^0-9]/g, "") + (mark ? `.${part}` : "") };
}

/** Both readings of a number with three digits behind its only mark, each so that it can be typed. */
function ways(given) {
  const mark = given.includes(",") ? "," : ".";
  const [whole, part] = given.split(mark);
  const short = part.replace(/0+$/, "");
  const behind = short.length < 3 ? short : `${short}0`; // four digits are no thousands
  return [whole + part, behind ? whole + mark + behind : whole];
}

/** A typed number so many decimal places on, as a whole one; null where it is none, or finer. */
export function shifted(text, places) {
  const [whole, part = ""] = (read(text).value ?? "").split(".");
  const [near, rest] = [part.padEnd(places, "0").slice(0, places), part.slice(places)];
  return /^[0-9]+$/.test(whole) && !/[1-9]/.test(rest) ? Number(whole + near) : null;
}

/** A measure in base units: "12,5 m" is 12500 where `units` has "m"; null where it is none. */
export function inBase(text, units) {
  const [, figure, unit] = text.trim().match(/^(.*[0-9])\s*([a-z]*)$/i) ?? [];
  const known = figure && ["", ...units].includes(unit.toLowerCase());
  return known ? shifted(figure, PLACES[unit.toLowerCase()]) : null;
}

/** Both readings of a measure that can be read two ways, or nothing. */
export const doubt = (text) => read(text.replace(/\s*[a-z]*\s*$/i, "")).ways;
