// What goes beside an event: a photo, words. Kept in this browser with the event that names it, and
// sent after it, piece by piece, so that a photo never holds up a scan.
//
// Row: {id, kind, person, subject, text | bytes, state, at, sentence}; kind "note" (id is its UUID)
// or "photo" (id is the SHA-256 of its bytes); state "waiting" or "refused" (a person must look).

import { asked, strictly } from "./database.js";
import { uuid7 } from "./ids.js";

const LONGEST = 1_600; // px of a photo's longer side
const MOST = 400_000; // bytes of a photo
const FINENESS = [0.85, 0.7, 0.5, 0.35]; // of JPEG: the first that is small enough
const PIECE = 64_000; // bytes sent at once

/** Whether photos can be kept here: without https a browser gives no hashes. */
export const keepsPhotos = () => Boolean(globalThis.crypto?.subtle);

/** A photo file made small, without what its camera noted in it. Throws with words for people. */
export async function photo(file, person, subject) {
  const bytes = await small(file).catch(() => {
    throw Object.assign(new Error("no picture"), { words: "This file is no picture that this phone can read." });
  });
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const id = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return { id, kind: "photo", person, subject: subject ?? "", bytes, state: "waiting", at: Date.now() };
}

/** Words of a person. */
export function note(text, person, subject) {
  return { id: uuid7(), kind: "note", person, subject: subject ?? "", text, state: "waiting", at: Date.now() };
}

async function small(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const part = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [picture.width, picture.height].map((side) => Math.max(1, Math.round(side * part)));
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  let made;
  for (const fineness of FINENESS) {
    made = await new Promise((done) => canvas.toBlob(done, "image/jpeg", fineness));
    if (made.size <= MOST) break;
  }
  return made.arrayBuffer();
}

/** Rows of a state, oldest first. */
export async function rows(state) {
  const found = await asked("enclosures", (all) => all.index("state").getAll(state));
  return found.sort((one, other) => one.at - other.at);
}

/** Whether anything of this person waits. */
export const waitsBeside = async (person) => (await rows("waiting")).some((row) => row.person === person);

/** Send the next piece of what waits for this person: words first, then photos, oldest first.
 *  Resolves to whether there was any; throws what `post` throws where the line is to blame. */
export async function sendOne(person, post) {
  const mine = (await rows("waiting")).filter((row) => row.person === person);
  const row = mine.find((one) => one.kind === "note") ?? mine[0];
  if (!row) return false;
  try {
    if (row.kind === "note") {
      const { id, text, subject } = row;
      await post("/api/notes", JSON.stringify({ id, text, subject }), "application/json");
      await done(row.id);
    } else await sendPiece(row, post);
  } catch (error) {
    if (![400, 404, 409, 422].includes(error.status)) throw error;
    await mark(row.id, (kept) => ({ ...kept, state: "refused", sentence: error.words }));
  }
  return true;
}

const here = new Map(); // photo -> bytes of it that the server has

async function sendPiece({ id, bytes, subject }, post) {
  const size = bytes.byteLength;
  const at = here.get(id);
  // The first question sends nothing: an earlier try may have brought a part of it, or all.
  const piece = at === undefined ? new ArrayBuffer(0) : bytes.slice(at, at + PIECE);
  const about = new URLSearchParams({ at: at ?? 0, size, subject });
  const { have } = await post(`/api/photos/${id}?${about}`, piece, "application/octet-stream");
  here.set(id, have);
  if (have === size) await done(id);
}

const done = (id) => strictly(({ enclosures }) => enclosures.delete(id), ["enclosures"]);

/** A person has dealt with a refused one. */
export const settle = done;

function mark(id, change) {
  return strictly(({ enclosures }) => {
    enclosures.get(id).onsuccess = ({ target }) => target.result && enclosures.put(change(target.result));
  }, ["enclosures"]);
}
