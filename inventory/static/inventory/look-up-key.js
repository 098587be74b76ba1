// What a phone looks a scan up by. The same ten lines as `look_up_key` in inventory/codes/serials.py;
// tests/codes/lookup_vectors.json holds for both.

const MARKS = /[\x00-\x1f\x7f]/g;
const SYMBOL = /^\][A-Za-z][0-9A-Za-z]/;
const ARTICLE = /^(?:[0-9]{8}|[0-9]{12,14})$/;
const OWN = /^LB[UCBPGKVNLTRX][0-9A-Z]{7}$/;

/** Marks of the symbol and control characters go, an article number becomes 14 digits, our own
 *  label capitals. */
export function lookUpKey(text) {
  const short = text.replace(MARKS, "").replace(/^ +| +$/g, "").replace(SYMBOL, "");
  if (ARTICLE.test(short)) return short.padStart(14, "0");
  const folded = short.replace(/[a-z]/g, (small) => small.toUpperCase());
  return OWN.test(folded) ? folded : short;
}
