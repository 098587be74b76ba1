// <ready-line>: whether this phone is ready for a day without signal, how large and how old what it
// keeps is, how long the sign-in lasts; a new version of the pages is taken by a tap.

import { keep } from "./keeping.js";
import * as tables from "./tables.js";
import { told } from "./words.js";

const NOTED = "lastbolt-kept"; // in localStorage: what was kept last, {person, pages, bytes, at}
const OFF = "No-signal mode is off: this address is not https, so the browser keeps no pages. What you scan is kept all the same.";
const me = () => document.body.dataset.person;

class ReadyLine extends HTMLElement {
  taking = new AbortController(); // a worker that still fetches pages to keep does not give way

  async connectedCallback() {
    this.words = this.querySelector("p");
    this.button = this.querySelector("button");
    const fresh = await tables.refresh().catch(() => tables.kept());
    if (!isSecureContext || !navigator.serviceWorker) return this.say(OFF);
    this.draw(fresh);
    try {
      await this.install();
      if (fresh) await this.keep(fresh, () => this.draw(fresh));
    } catch {
      // Without signal what was kept before stays.
    }
    this.draw(fresh);
  }

  async install() {
    const registration = await navigator.serviceWorker.register("/worker.js");
    const look = () => (this.button.hidden = !registration.waiting);
    registration.addEventListener("updatefound", () =>
      registration.installing?.addEventListener("statechange", look),
    );
    look();
    this.button.addEventListener("click", () => {
      this.taking.abort();
      navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
      registration.waiting?.postMessage("take");
    });
    await navigator.serviceWorker.ready;
  }

  async keep({ jobs }, ready) {
    const { pages, bytes, later } = await keep(me(), jobs.map((job) => job.code), this.taking.signal);
    if (later) return;
    localStorage.setItem(NOTED, JSON.stringify({ person: me(), pages, bytes, at: Date.now() }));
    navigator.serviceWorker.controller?.postMessage("tidy");
    ready();
    // The camera's decoder is large and comes last; the worker keeps what passes through it.
    for (const file of this.dataset.later.split(" ").filter(Boolean)) await fetch(file, { signal: this.taking.signal });
  }

  draw(fresh) {
    const noted = JSON.parse(localStorage.getItem(NOTED) ?? "null");
    if (!fresh || noted?.person !== me()) return this.say("Not ready without signal yet. Stay where there is signal for a moment.");
    const size = ((fresh.bytes + noted.bytes) / 1e6).toFixed(1);
    const parts = [`${noted.pages} pages, ${size} MB, ${ago(Date.now() - Math.min(noted.at, fresh.at))} old`, life(fresh.ends)];
    this.say(`Ready without signal: ${parts.join(". ")}.`);
    this.dataset.ready = "yes";
  }

  say(words) {
    this.words.textContent = told(words);
  }
}

function ago(ms) {
  const minutes = Math.round(ms / 60_000);
  if (minutes < 60) return `${minutes} min`;
  return minutes < 48 * 60 ? `${Math.round(minutes / 60)} hours` : `${Math.round(minutes / 1440)} days`;
}

function life(ends) {
  const left = ends - Date.now();
  return left > 0 ? `Signed in for ${ago(left)} more` : "The sign-in has ended: sign in again where there is signal";
}

customElements.define("ready-line", ReadyLine);
