// <screen-switch>: colours as the phone asks, for sun or for a cellar, remembered by this browser.

const KEPT = "lastbolt-screen";

class ScreenSwitch extends HTMLElement {
  connectedCallback() {
    const chosen = localStorage.getItem(KEPT) ?? "";
    for (const choice of this.querySelectorAll("input")) {
      choice.checked = choice.value === chosen;
      choice.addEventListener("change", () => {
        localStorage.setItem(KEPT, choice.value);
        document.dispatchEvent(new CustomEvent("screen:chosen"));
      });
    }
  }
}

customElements.define("screen-switch", ScreenSwitch);
