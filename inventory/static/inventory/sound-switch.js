// <sound-switch>: sounds and vibration on or off, remembered by this browser.

import { quiet, setQuiet, signal } from "./signals.js";

class SoundSwitch extends HTMLElement {
  connectedCallback() {
    const button = this.querySelector("button");
    const draw = () => {
      button.setAttribute("aria-pressed", String(!quiet()));
      button.textContent = quiet() ? "Sound is off" : "Sound is on";
    };
    button.addEventListener("click", () => {
      setQuiet(!quiet());
      draw();
      signal("applied");
    });
    draw();
  }
}

customElements.define("sound-switch", SoundSwitch);
