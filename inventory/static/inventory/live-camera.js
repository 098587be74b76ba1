// <live-camera worker reader wasm>: the camera's picture in the page; what is read in it is a scan like
// a hand scanner's. Two workers look: one quickly at every frame, one thoroughly at every fifth.

import { Looks, shown } from "./looks.js";
import { show, told } from "./verdict.js";

const EVERY = 5; // frames from one full pass to the next
const WANTED = { facingMode: { ideal: "environment" }, width: { ideal: 1920 }, height: { ideal: 1080 } };
const ELSE = "Photograph the code instead, or type it.";
const WHY = {
  NotAllowedError: "The camera is not allowed here: the browser's settings can allow it.",
  NotFoundError: "There is no camera here.",
  NotReadableError: "Another program has the camera.",
  TypeError: "A browser opens the camera only for an address with https.",
  trouble: "The camera's reader did not start: no signal, or a browser too old for it.",
};

class LiveCamera extends HTMLElement {
  connectedCallback() {
    this.view = this.querySelector(".view");
    this.video = this.querySelector("video");
    this.button = this.querySelector("button");
    this.output = this.closest("scan-pad").querySelector(".verdict");
    this.calm = this.words = this.said; // the page's own first words; the last of ours
    this.turn = null; // one for each time it is opened, null while it is closed
    this.workers = [];
    this.passes = 0; // over frames, since the page was opened
    this.abort = new AbortController();
    const once = { signal: this.abort.signal };
    this.button.addEventListener("click", () => (this.turn ? this.close() : this.open()), once);
    document.addEventListener("visibilitychange", () => document.hidden && this.close(), once);
    addEventListener("pagehide", () => this.close(), once);
  }

  disconnectedCallback() {
    this.abort.abort();
    this.close();
  }

  async open() {
    const turn = (this.turn = {});
    this.draw();
    this.say("The camera opens ...");
    try {
      const stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: WANTED });
      // Closed meanwhile: the light beside the lens must not stay on.
      if (turn !== this.turn) return stop(stream);
      this.video.srcObject = stream;
      for (const track of stream.getTracks()) track.onended = () => this.fail(turn, "NotReadableError");
      this.looks = new Looks();
      this.frames = 0;
      this.workers = [this.worker(turn, false), this.worker(turn, true)];
      await this.video.play();
      this.say("Hold a code into the frame.");
      this.next(turn);
    } catch (error) {
      this.fail(turn, error.name);
    }
  }

  close() {
    this.turn = null;
    for (const { worker } of this.workers) worker.terminate();
    this.workers = [];
    if (this.video.srcObject) stop(this.video.srcObject);
    this.video.srcObject = null;
    this.draw();
    this.say(this.calm);
  }

  fail(turn, name) {
    if (turn !== this.turn) return;
    this.close();
    show(this.output, "refused", `${WHY[name] ?? WHY.trouble} ${ELSE}`);
  }

  /** One that looks; `idle` once it has its decoder and no frame. */
  worker(turn, full) {
    const worker = new Worker(this.getAttribute("worker"));
    const one = { worker, full, idle: false };
    worker.onerror = () => this.fail(turn, "trouble");
    worker.onmessage = ({ data }) => {
      if (data.trouble) return this.fail(turn, "trouble");
      one.idle = true;
      if (data.codes && turn === this.turn) this.read(data);
    };
    // A worker resolves addresses against its own.
    const address = (name) => new URL(this.getAttribute(name), location.href).href;
    worker.postMessage({ reader: address("reader"), wasm: address("wasm") });
    return one;
  }

  /** Ask for the next frame that the camera gives. */
  next(turn) {
    const soon = this.video.requestVideoFrameCallback ?? ((then) => requestAnimationFrame(then));
    soon.call(this.video, () => turn === this.turn && this.frame(turn));
  }

  frame(turn) {
    this.frames += 1;
    for (const one of this.workers) {
      // One that is still busy misses this frame: a read must be of what is in view now.
      if (!one.idle || (one.full && this.frames % EVERY)) continue;
      one.idle = false;
      this.give(one);
    }
    this.next(turn);
  }

  async give(one) {
    try {
      const frame = await createImageBitmap(this.video, ...shown(this.video));
      one.worker.postMessage({ frame, full: one.full }, [frame]);
    } catch {
      one.idle = true; // no picture yet, or no more
    }
  }

  read(pass) {
    this.passes += 1;
    const { text, several } = this.looks.after(pass, performance.now());
    if (text) document.dispatchEvent(new CustomEvent("scan", { detail: { text, via: "symbol" } }));
    if (several) this.say("Several codes are in view. Hold one of them into the frame.");
  }

  draw() {
    const open = Boolean(this.turn);
    this.view.hidden = !open;
    this.toggleAttribute("open", open);
    this.button.textContent = told(open ? "Close the camera" : "Camera");
    if (open) this.view.scrollIntoView({ block: "nearest" });
  }

  /** Say what to do, but over nothing that the pad said: that stays until the next scan. */
  say(sentence, words = told(sentence)) {
    if (![this.calm, this.words].includes(this.said) || this.said === words) return;
    this.words = words;
    show(this.output, "ready", words, true);
  }

  get said() {
    return this.output.querySelector("span").textContent;
  }
}

function stop(stream) {
  for (const track of stream.getTracks()) track.stop();
}

customElements.define("live-camera", LiveCamera);
