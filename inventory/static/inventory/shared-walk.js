// <scan-pad shared>: one walk for several kits. A thing is scanned, then the label of each box it goes
// into; only the pair becomes an event, with the number that the page shows for that box.

import { fieldsOf, unclear } from "./fields.js";
import { lookUpKey } from "./look-up-key.js";
import { show } from "./verdict.js";

/** Whether a line names this look-up key, or an article number that stands in it. */
export const bears = ({ dataset }, key) =>
  dataset.keys.split("\n").some((one) => one && (one === key || (/^[0-9]{14}$/.test(one) && key.includes(`01${one}`)) || key.includes(`/01/${one}`)));

const words = (text) => (text ?? "").split(/\s+/).filter(Boolean);

export class SharedWalk {
  held = null; // what was scanned and lies in the hand: {text, via, key}

  constructor(pad) {
    this.pad = pad;
  }

  /** One code of this pad: a thing is held, a box takes what is held. */
  async take(text, via) {
    const box = this.box(text);
    if (!box) return this.hold(text, via);
    if (!this.held) return this.say("ready", `Box ${box.dataset.box}. Scan the thing first, then its box.`);
    await this.into(box, text.trim().toUpperCase());
  }

  /** The kit whose parcel, bay or bag has this label. */
  box(text) {
    const code = text.trim().toUpperCase();
    return [...this.pad.querySelectorAll("[data-box]")].find(({ dataset }) =>
      words(`${dataset.labels} ${dataset.bags}`).includes(code),
    );
  }

  /** The line of the walk that a held thing belongs to; drawn again meanwhile, it is found again. */
  line() {
    const { key } = this.held;
    return [...this.pad.querySelectorAll("[data-line]")].find((line) => bears(line, key) && this.open(line).length);
  }

  open = (line) => [...line.querySelectorAll("[data-letter]:not([data-sent])")];

  hold(text, via) {
    this.held = { text, via, key: lookUpKey(text) };
    const line = this.line();
    if (!line) return this.say("problem", "That is on no line of this walk. Put it back, or scan the box that takes it all the same.", "On no line");
    this.ask(line);
  }

  /** Say in large letters what still goes where. */
  ask(line) {
    const split = this.open(line).map((share) => share.textContent.trim());
    this.say("ready", `${line.dataset.name}. Scan the box it goes into.`, split.join(", "));
  }

  async into(box, code) {
    const why = this.pad.extras && unclear(this.pad.extras);
    if (why) return this.say("refused", why);
    const line = this.line();
    const share = line && this.open(line).find((one) => one.dataset.letter === box.dataset.box);
    if (line && !share) {
      const split = this.open(line).map((one) => one.textContent.trim());
      return this.say("stopped", `Box ${box.dataset.box} takes none of it. It goes into ${split.join(", ")}.`);
    }
    const { text, via } = this.held;
    const fields = { step: this.pad.getAttribute("step"), subject: box.dataset.subject, text, via, rearm: true };
    if (words(box.dataset.bags).includes(code)) fields.target = code;
    if (line && !line.dataset.single) fields.from = line.dataset.from;
    const part = share && line.querySelector(`[data-bag="${code}"]:not([data-sent])`);
    const asked = (part ?? share)?.dataset.quantity;
    if (asked) fields.quantity = Number(asked);
    if (this.pad.extras) Object.assign(fields, fieldsOf(this.pad.extras));
    const one = line?.dataset.single || !line;
    if (share && !one) this.given(share, part);
    if (one || !this.open(line).length) this.held = null; // a thing with a serial is in one box only
    this.pad.setAttribute("subject", box.dataset.subject); // "parcel full", "undo" mean this box
    await this.pad.send(this.pad.wall.counted(fields));
  }

  /** A share has all it takes; or one of its bags has its part, and the others wait for theirs. */
  given(share, part) {
    const rest = part && Number(share.dataset.quantity) - Number(part.dataset.quantity);
    (rest ? part : share).dataset.sent = "yes";
    if (!rest) return;
    share.dataset.quantity = rest;
    const words = [...part.parentElement.querySelectorAll("[data-bag]:not([data-sent])")].map(({ dataset }) => dataset.words);
    share.textContent = `${share.dataset.letter} ${words.join(" + ")}`;
  }

  say(verdict, sentence, large = "") {
    show(this.pad.output, verdict, sentence);
    if (large) this.pad.output.querySelector("strong").textContent = large;
  }
}
