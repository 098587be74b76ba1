// <language-switch>: the language of a technician's pages, remembered by this browser.

const COOKIE = "lastbolt_language"; // as in kitting/settings.py
const YEAR = 365 * 86_400; // seconds

/** The page that stands for those that are not kept, in the language: it is kept without a cookie. */
async function stand(language) {
  const headers = language ? { "Accept-Language": language } : {};
  const page = await fetch("/no-signal", { credentials: "omit", headers });
  for (const name of await caches.keys()) {
    if (name.startsWith("static ")) await (await caches.open(name)).put("/no-signal", page.clone());
  }
}

class LanguageSwitch extends HTMLElement {
  connectedCallback() {
    const chosen = document.cookie.match(/(?:^|; )lastbolt_language=([\w-]*)/)?.[1] ?? "";
    for (const choice of this.querySelectorAll("input")) {
      choice.checked = choice.value === chosen;
      choice.addEventListener("change", () => this.choose(choice.value));
    }
  }

  async choose(language) {
    const age = language ? YEAR : 0;
    document.cookie = `${COOKIE}=${language}; path=/; max-age=${age}; samesite=lax`;
    await stand(language).catch(() => {}); // without signal it stays as it was
    location.reload();
  }
}

customElements.define("language-switch", LanguageSwitch);
