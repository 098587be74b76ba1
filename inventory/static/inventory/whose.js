// Whose hands the scanner is in: a badge says so on a device that somebody is signed in on. It opens
// nothing and signs nobody in; the sign-in and the hands both stand in each event.

const KEY = "lastbolt-hands";
const LAPSE = 30 * 60_000; // ms without a scan after which nobody is taken to stand there still
const me = () => document.body.dataset.person ?? "";

function kept() {
  const found = JSON.parse(localStorage.getItem(KEY) ?? "null");
  return found && found.person === me() && Date.now() - found.at < LAPSE ? found : null;
}

/** The badge's code, "" while nobody's was scanned; each use keeps it from lapsing. */
export function hands() {
  const found = kept();
  if (!found) {
    draw(); // who stood here is gone: the page must not go on saying so
    return "";
  }
  localStorage.setItem(KEY, JSON.stringify({ ...found, at: Date.now() }));
  return found.code;
}

/** Whether these are the hands now: an answer about an earlier badge says nothing of them. */
export const holds = (code) => kept()?.code === code;

/** These hands from now on; words: how the page says it. Without a code: nobody's. */
export function take(code, words = "") {
  if (code) localStorage.setItem(KEY, JSON.stringify({ code, words, person: me(), at: Date.now() }));
  else localStorage.removeItem(KEY);
  draw();
}

/** Say whose they are wherever the page has room for it. */
export function draw() {
  const found = kept();
  for (const place of document.querySelectorAll("[data-whose]")) {
    place.hidden = !found;
    place.textContent = found?.words ?? "";
  }
}

document.addEventListener("submit", ({ target }) => {
  if (target.matches("[data-sign-out]")) localStorage.removeItem(KEY);
});
