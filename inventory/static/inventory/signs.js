// What a key stands for: the sign that a hand scanner meant. Scanners send what has no key as Ctrl
// and a key, as F8, or as Alt and a number on the keypad.

const GS = "\x1d";
/** Stands for a dead key: an accent that waits for its letter, and may change or swallow it. */
export const DEAD = "\0";
// Ctrl and the key that bears these on a US keyboard, wherever the computer's keyboard has it.
const CONTROLS = { BracketRight: GS, Digit6: "\x1e", Backslash: "\x1c", Minus: "\x1f" };
const KEYPAD = /^Numpad(\d)$/;

/** Whether Caps Lock was on at a letter: the browser says so, or Shift gave a small one. */
export function shouts(event) {
  if (!/^[A-Za-z]$/.test(event.key)) return false;
  return event.getModifierState?.("CapsLock") || (event.shiftKey && event.key >= "a");
}

export class Signs {
  #number = ""; // digits typed on the keypad while Alt is down

  /** The sign of a key that went down, "" for none. `hasty`: amid a scan, where Ctrl and a letter
   *  is no command of the browser's. */
  down(event, hasty = false) {
    const { key, code, ctrlKey, altKey, metaKey } = event;
    const digit = KEYPAD.exec(code)?.[1];
    if (key === "F8") return GS;
    if (key === "Dead") return DEAD;
    if (altKey && !ctrlKey && digit) {
      this.#number += digit;
      return "";
    }
    if (event.getModifierState?.("AltGraph") || (ctrlKey && altKey)) return key.length === 1 ? key : "";
    if (metaKey || altKey) return "";
    if (ctrlKey) return this.#control(code, hasty);
    return digit ?? (key.length === 1 ? key : "");
  }

  /** The sign that a key stands for by going up: Alt after a number. */
  up({ key }) {
    if (key !== "Alt" || !this.#number) return "";
    const sign = String.fromCharCode(Number(this.#number) & 255);
    this.#number = "";
    return sign;
  }

  #control(code, hasty) {
    if (code === "BracketRight") return GS;
    if (!hasty) return "";
    if (CONTROLS[code]) return CONTROLS[code];
    const letter = /^Key([A-Z])$/.exec(code)?.[1];
    return letter ? String.fromCharCode(letter.charCodeAt(0) & 31) : "";
  }
}
