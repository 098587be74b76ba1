// Which colours this phone shows: as it asks itself, dark on white for sun, or light on dark for
// cellars. Runs before the page is drawn; <screen-switch> lets a person choose.

(() => {
  const ASKED = "(prefers-color-scheme: dark)";
  const WHEN = { sun: "not all", cellar: "all" }; // when the dark colours of tokens.css hold
  const SCHEME = { sun: "light", cellar: "dark" }; // what the browser draws by itself: bars, boxes
  const dark = [...document.styleSheets]
    .flatMap((sheet) => [...sheet.cssRules])
    .filter((rule) => rule instanceof CSSMediaRule && rule.media.mediaText === ASKED);

  function show() {
    const chosen = localStorage.getItem("lastbolt-screen") ?? "";
    for (const rule of dark) rule.media.mediaText = WHEN[chosen] ?? ASKED;
    document.documentElement.style.colorScheme = SCHEME[chosen] ?? "";
  }

  document.addEventListener("screen:chosen", show);
  addEventListener("storage", show);
  show();
})();
