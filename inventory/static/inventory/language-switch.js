// <language-switch>: the language of a technician's pages, remembered by this browser.

const COOKIE = "lastbolt_language"; // as in kitting/settings.py
const YEAR = 365 * 86_400; // seconds

class LanguageSwitch extends HTMLElement {
  connectedCallback() {
    const chosen = document.cookie.match(/(?:^|; )lastbolt_language=([\w-]*)/)?.[1] ?? "";
    for (const choice of this.querySelectorAll("input")) {
      choice.checked = choice.value === chosen;
      choice.addEventListener("change", () => this.choose(choice.value));
    }
  }

  choose(language) {
    const age = language ? YEAR : 0;
    document.cookie = `${COOKIE}=${language}; path=/; max-age=${age}; samesite=lax`;
    location.reload();
  }
}

customElements.define("language-switch", LanguageSwitch);
