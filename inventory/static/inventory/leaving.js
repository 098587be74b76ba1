// What a browser keeps of somebody goes once nobody is signed in any more: by Sign out, or because the
// sign-in ended. What was not sent stays, with what was said of it, and so does how the device is set.
// Kept pages go by worker.js, the tables of codes by tables.js.

import { asked, strictly } from "./database.js";
import { rows } from "./store.js";

const OF_SOMEBODY = /^(?:lastbolt-kept$|read )/; // in localStorage
const nobody = () => !document.body.dataset.person && !document.body.classList.contains("no-signal");

if (nobody()) left().catch(() => {});

async function left() {
  sessionStorage.clear();
  for (const key of Object.keys(localStorage)) if (OF_SOMEBODY.test(key)) localStorage.removeItem(key);
  const waiting = new Set((await rows("waiting")).map((row) => row.id));
  const over = (await asked("looked", (all) => all.getAll())).filter(
    (row) => !row.otherwise && !waiting.has(row.id),
  );
  if (over.length) await strictly((stores) => over.forEach((row) => stores.looked.delete(row.id)), ["looked"]);
}
