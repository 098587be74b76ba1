// <sound-switch>: sound and vibration, each on or off, remembered by this browser.

import { isOff, setOff, signal } from "./signals.js";
import { told } from "./words.js";

const SAYS = { sound: ["Sound is on", "Sound is off"], shake: ["Vibration is on", "Vibration is off"] };

class SoundSwitch extends HTMLElement {
  connectedCallback() {
    for (const button of this.querySelectorAll("button")) {
      const { sense } = button.dataset;
      const draw = () => {
        button.setAttribute("aria-pressed", String(!isOff(sense)));
        button.textContent = told(SAYS[sense][isOff(sense) ? 1 : 0]);
      };
      button.addEventListener("click", () => {
        setOff(sense, !isOff(sense));
        draw();
        signal("applied");
      });
      draw();
    }
  }
}

customElements.define("sound-switch", SoundSwitch);
