// Sentences are written in English where they arise, here or by the server, and put into the page's
// language where they are shown. A table is English -> the language's own words; {0}, {1} ... stand
// for what varies: names, codes, numbers. What no table has is shown as it came.

import { de } from "./words-de.js";
import { es } from "./words-es.js";
import { de as recordDe } from "./record-de.js";
import { es as recordEs } from "./record-es.js";

const TABLES = { de: { ...de, ...recordDe }, es: { ...es, ...recordEs } };
const SLOT = /\{(\d)\}/g;
const rules = {}; // language -> [pattern, words], what says most of its own first

/** A sentence in the language of the page. */
export function told(sentence, language = document.documentElement.lang) {
  const table = TABLES[language];
  if (!table || !sentence) return sentence;
  if (Object.hasOwn(table, sentence)) return table[sentence];
  rules[language] ??= patterns(table);
  for (const [pattern, words] of rules[language]) {
    const found = sentence.match(pattern);
    if (found) return words.replace(SLOT, (_, slot) => told(found[Number(slot) + 1], language));
  }
  return sentence;
}

/** A sentence of the tables with what varies in it: say("{0} of {1}", 3, 6). */
export function say(english, ...values) {
  const words = TABLES[document.documentElement.lang]?.[english] ?? english;
  return words.replace(SLOT, (_, slot) => values[Number(slot)]);
}

function patterns(table) {
  const own = (text) => text.replace(SLOT, "").length;
  return Object.entries(table)
    .filter(([english]) => english.includes("{0}") && own(english) > 4)
    .sort(([one], [other]) => own(other) - own(one))
    .map(([english, words]) => [pattern(english), words]);
}

/** Slots stand in the order of their numbers in the English sentence. */
function pattern(english) {
  const parts = english.split(/\{\d\}/).map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  return new RegExp(`^${parts.join("(.+?)")}$`, "s");
}
