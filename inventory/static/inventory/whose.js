// Whose hands the scanner is in: a badge says so on a device that somebody is signed in on. It opens
// nothing and signs nobody in; the sign-in and the hands both stand in each event. A badge holds from
// the server's yes on; before that, and without signal, scans are those of who is signed in.

const KEY = "lastbolt-hands";
const LAPSE = 30 * 60_000; // ms without a scan after which nobody is taken to stand there still
const PATIENCE = 5_000; // ms for the server's yes
const AS_BEFORE = "Scans are signed by who is signed in.";
const me = () => document.body.dataset.person ?? "";
let asking = 0; // the latest badge; an answer about an earlier one says nothing
let lapse;

function kept() {
  const found = JSON.parse(localStorage.getItem(KEY) ?? "null");
  return found && found.person === me() && Date.now() - found.at < LAPSE ? found : null;
}

/** The badge's code, "" while nobody's holds; each use keeps it from lapsing. */
export function hands() {
  const found = kept();
  if (found) localStorage.setItem(KEY, JSON.stringify({ ...found, at: Date.now() }));
  draw(); // who stood here may be gone: the page must not go on saying so
  return found?.code ?? "";
}

/** Ask whose badge this is; `say(verdict, sentence)` is told what comes of it. Until the yes nobody's
 *  holds, not even the one that did. */
export async function ask(code, say) {
  const mine = ++asking;
  forget();
  say("waiting", `Whose badge is that? ${AS_BEFORE}`);
  const [verdict, words] = await answer(code);
  if (mine !== asking) return;
  if (verdict === "applied") {
    localStorage.setItem(KEY, JSON.stringify({ code, words, person: me(), at: Date.now() }));
    draw();
  }
  say(verdict, words);
}

async function answer(code) {
  try {
    const reply = await fetch(`/badge/${code}`, { signal: AbortSignal.timeout(PATIENCE) });
    const told = await reply.json().catch(() => null);
    if (told?.words) return [told.holds ? "applied" : "stopped", told.words];
    return ["refused", `Badges are for those who work at the bench. ${AS_BEFORE}`];
  } catch {
    return ["refused", `No signal: nobody can say whose badge that is. ${AS_BEFORE} Scan it again later.`];
  }
}

function forget() {
  localStorage.removeItem(KEY);
  draw();
}

/** Say whose they are wherever the page has room for it, until they lapse. */
export function draw() {
  const found = kept();
  for (const place of document.querySelectorAll("[data-whose]")) {
    place.hidden = !found;
    place.textContent = found?.words ?? "";
  }
  clearTimeout(lapse);
  if (found) lapse = setTimeout(draw, found.at + LAPSE - Date.now() + 1);
}

addEventListener("storage", ({ key }) => key === KEY && draw()); // another page of this browser
document.addEventListener("submit", ({ target }) => {
  if (target.matches("[data-sign-out]")) localStorage.removeItem(KEY);
});
