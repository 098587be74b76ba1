// Shows a verdict: a word, a shape, a sentence, a sound. The words are those of the pages.

import { signal } from "./signals.js";
import { told } from "./words.js";

export { told };

export const WORDS = {
  ready: "Ready",
  saved: "Saved here",
  applied: "Done",
  noted: "Seen already",
  waiting: "Kept, waits",
  problem: "Problem noted",
  dispute: "Two claims",
  stopped: "Stop",
  refused: "Not taken",
};

/** What the server decided differs from what this phone had said: a signal of its own. */
export function correct(output, verdict, sentence) {
  show(output, verdict, `The record says otherwise: ${sentence}`, true);
  output.dataset.otherwise = "yes";
  signal("otherwise");
}

/** Put a verdict into the <output class="verdict"> and let it be heard. */
export function show(output, verdict, sentence, silent = false) {
  delete output.dataset.otherwise;
  output.dataset.verdict = verdict;
  output.querySelector("use").setAttribute("href", `#shape-${verdict}`);
  output.querySelector("strong").textContent = told(WORDS[verdict] ?? verdict);
  output.querySelector("span").textContent = told(sentence);
  output.scrollIntoView({ block: "nearest" }); // wherever on the page the person was
  if (!silent) signal(verdict);
}
