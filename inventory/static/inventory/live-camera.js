// <live-camera worker reader wasm>: the camera's picture in the page; what is read in it is a scan like
// a hand scanner's. Two workers look: one quickly at every frame, one thoroughly at every fifth.

import { Looks } from "./looks.js";
import { show } from "./verdict.js";

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
    this.workers = [];
    this.passes = 0; // over frames, since the page was opened
    this.abort = new AbortController();
    const once = { signal: this.abort.signal };
    this.button.addEventListener("click", () => (this.view.hidden ? this.open() : this.close()), once);
    document.addEventListener("visibilitychange", () => document.hidden && this.close(), once);
    addEventListener("pagehide", () => this.close(), once);
  }

  disconnectedCallback() {
    this.abort.abort();
    this.close();
  }

  async open() {
    this.draw(true);
    this.say("The camera opens ...");
    try {
      const stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: WANTED });
      // Closed meanwhile: the light beside the lens must not stay on.
      if (this.view.hidden) return stop(stream);
      this.video.srcObject = stream;
      this.looks = new Looks();
      this.frames = 0;
      this.workers = [this.worker(false), this.worker(true)];
      await this.video.play();
      this.say("Hold a code into the frame.");
      this.next();
    } catch (error) {
      this.fail(error.name);
    }
  }

  close() {
    for (const { worker } of this.workers) worker.terminate();
    this.workers = [];
    if (this.video.srcObject) stop(this.video.srcObject);
    this.video.srcObject = null;
    this.draw(false);
  }

  fail(name) {
    // An interrupted start is a person who closed it again.
    if (this.view.hidden || name === "AbortError") return;
    this.close();
    show(this.output, "refused", `${WHY[name] ?? WHY.trouble} ${ELSE}`);
  }

  /** One that looks; `idle` once it has its decoder and no frame. */
  worker(full) {
    const worker = new Worker(this.getAttribute("worker"));
    const one = { worker, full, idle: false };
    worker.onerror = () => this.fail("trouble");
    worker.onmessage = ({ data }) => {
      if (data.trouble) return this.fail("trouble");
      one.idle = true;
      if (data.codes) this.read(data);
    };
    // A worker resolves addresses against its own.
    const address = (name) => new URL(this.getAttribute(name), location.href).href;
    worker.postMessage({ reader: address("reader"), wasm: address("wasm") });
    return one;
  }

  /** Ask for the next frame that the camera gives. */
  next() {
    if (!this.workers.length) return;
    const soon = this.video.requestVideoFrameCallback ?? ((then) => requestAnimationFrame(then));
    soon.call(this.video, () => this.frame());
  }

  frame() {
    this.frames += 1;
    for (const one of this.workers) {
      // One that is still busy misses this frame: a read must be of what is in view now.
      if (!one.idle || (one.full && this.frames % EVERY)) continue;
      one.idle = false;
      this.give(one);
    }
    this.next();
  }

  async give(one) {
    try {
      const frame = await createImageBitmap(this.video);
      one.worker.postMessage({ frame, full: one.full }, [frame]);
    } catch {
      one.idle = true; // no picture yet, or no more
    }
  }

  read(pass) {
    this.passes += 1;
    const { text, several } = this.looks.after(pass, performance.now());
    if (text) document.dispatchEvent(new CustomEvent("scan", { detail: { text, via: "symbol" } }));
    // The answer to a scan stays until the next one.
    if (several && this.output.dataset.verdict === "ready") this.say( "Several codes are in view. Hold one of them into the frame.");
  }

  draw(open) {
    this.view.hidden = !open;
    this.toggleAttribute("open", open);
    this.button.textContent = open ? "Close the camera" : "Camera";
  }

  say(sentence) {
    show(this.output, "ready", sentence, true);
  }

  get output() {
    return this.closest("scan-pad").querySelector(".verdict");
  }
}

function stop(stream) {
  for (const track of stream.getTracks()) track.stop();
}

customElements.define("live-camera", LiveCamera);
