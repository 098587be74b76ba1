// <scan-pad shared="turns">: things of several visits go on one van, the last visit's first. The page
// finds whose a thing is; one scanned before its turn is asked back once, then it is taken.

import { lookUpKey } from "./look-up-key.js";
import { bears } from "./shared-walk.js";
import { show } from "./verdict.js";

export class Turns {
  doubted = ""; // what was scanned before its turn

  constructor(pad) {
    this.pad = pad;
  }

  async take(text, via) {
    const turns = [...this.pad.querySelectorAll("[data-turn]")];
    const now = turns.find((turn) => turn.querySelector("[data-waits]")) ?? turns[0];
    const its = this.of(turns, lookUpKey(text)) ?? now;
    if (turns.indexOf(its) > turns.indexOf(now) && this.doubted !== text) {
      this.doubted = text;
      const words = `That is for ${its.dataset.name}. ${now.dataset.name} goes in before it. Scan it once more to load it now.`;
      return show(this.pad.output, "stopped", words);
    }
    this.doubted = "";
    const [step, target] = ["step", "target"].map((name) => this.pad.getAttribute(name));
    this.pad.setAttribute("subject", its.dataset.subject);
    await this.pad.send({ step, target, subject: its.dataset.subject, text, via, rearm: this.pad.rearms(text) });
  }

  /** The visit that still waits for a thing with this code, else one that has it on the van. */
  of(turns, key) {
    const lines = turns.flatMap((turn) => [...turn.querySelectorAll("[data-keys]")]);
    const mine = lines.filter((line) => bears(line, key));
    return (mine.find((line) => "waits" in line.dataset) ?? mine[0])?.closest("[data-turn]");
  }
}
