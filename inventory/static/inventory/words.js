// Sentences are written in English where they arise, here or by the server, and put into the page's
// language where they are shown. A table is English -> the language's own words; {0}, {1} ... stand
// for what varies: names, codes, numbers. What no table has is shown as it came.

import { de as answersDe } from "./answers-de.js";
import { es as answersEs } from "./answers-es.js";
import { de as readingsDe } from "./readings-de.js";
import { es as readingsEs } from "./readings-es.js";
import { de as recordDe } from "./record-de.js";
import { es as recordEs } from "./record-es.js";
import { de } from "./words-de.js";
import { es } from "./words-es.js";

const TABLES = {
  de: { ...de, ...recordDe, ...answersDe, ...readingsDe },
  es: { ...es, ...recordEs, ...answersEs, ...readingsEs },
};
const SLOT = /\{(\d)\}/g;
const FIGURE = /^\d[\d,]*(\.\d+)?(?=$| (x|m|ml|m²|%)( |$))/; // that opens what stands in a slot
const END = /(?<=[.?!]) (?=\S)/g; // between two sentences
const WITHIN = "((?:(?![.?!] \\S).)+?)"; // a slot that holds no end of a sentence
const rules = {}; // language -> [pattern, the same of one sentence, words], most of its own first

/** A sentence in the language of the page, or several one after the other. */
export function told(sentence, language = document.documentElement.lang) {
  const table = TABLES[language];
  if (!table || !sentence) return sentence;
  rules[language] ??= patterns(table);
  return whole(sentence, language) ?? apart(sentence, language) ?? loose(sentence, language);
}

/** A sentence of the tables with what varies in it: say("{0} of {1}", 3, 6). */
export function say(english, ...values) {
  const words = TABLES[document.documentElement.lang]?.[english] ?? english;
  return words.replace(SLOT, (_, slot) => values[Number(slot)]);
}

/** As a table has it, with nothing in its slots that goes on behind the end of a sentence. */
function whole(sentence, language) {
  if (Object.hasOwn(TABLES[language], sentence)) return TABLES[language][sentence];
  for (const [, within, words] of rules[language]) {
    const found = sentence.match(within);
    if (found) return filled(words, found, language);
  }
  return undefined;
}

/** The first of several sentences and then the rest, where both are known. */
function apart(sentence, language) {
  for (const { index } of sentence.matchAll(END)) {
    const [first, rest] = [whole(sentence.slice(0, index), language), sentence.slice(index + 1)];
    const after = first && told(rest, language);
    if (after && after !== rest) return `${first} ${after}`;
  }
  return undefined;
}

function loose(sentence, language) {
  for (const [pattern, , words] of rules[language]) {
    const found = sentence.match(pattern);
    if (found) return filled(words, found, language);
  }
  return sentence;
}

function filled(words, found, language) {
  const inside = found.slice(1).map((one) => [one, told(one, language)]);
  const own = inside.map(([one, said]) => (said === one ? marked(one) : said));
  return words.replace(SLOT, (_, slot) => own[Number(slot)]);
}

/** A figure with the marks of these languages, as the pages have it: 1 200,5. */
function marked(words) {
  return words.replace(FIGURE, (figure) => figure.replaceAll(",", "\u202f").replace(".", ","));
}

function patterns(table) {
  const own = (text) => text.replace(SLOT, "").length;
  return Object.entries(table)
    .filter(([english]) => english.includes("{0}") && own(english) > 4)
    .sort(([one], [other]) => own(other) - own(one))
    .map(([english, words]) => [pattern(english, "(.+?)"), pattern(english, WITHIN), words]);
}

/** Slots stand in the order of their numbers in the English sentence. */
function pattern(english, slot) {
  const parts = english.split(/\{\d\}/).map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  return new RegExp(`^${parts.join(slot)}$`, "s");
}
