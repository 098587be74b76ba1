// What waits in this browser as a file, the last resort of a phone that cannot send any more: one JSON
// object a line, events in their order, then what goes beside them. inventory/phone_file.py reads it.

import * as enclosures from "./enclosures.js";
import * as store from "./store.js";

const FORM = "lastbolt phone 1";

/** All that waits or was refused here, whoever scanned it, as the text of a file. */
export async function queueFile() {
  const of = async (rows) => [...(await rows("waiting")), ...(await rows("refused"))];
  const events = (await of(store.rows)).sort((one, other) => one.seq - other.seq);
  const head = { form: FORM, device: await store.fact("device"), at: new Date().toISOString() };
  const lines = [head, ...events.map(({ person, line }) => ({ person, line }))];
  for (const { person, kind, id, subject, text, bytes } of await of(enclosures.rows)) {
    lines.push({ person, [kind]: id, subject, ...(bytes ? { bytes: base64(bytes) } : { text }) });
  }
  return lines.map((line) => `${JSON.stringify(line)}\n`).join("");
}

const base64 = (bytes) => btoa(Array.from(new Uint8Array(bytes), (one) => String.fromCharCode(one)).join(""));

/** Let the browser save it. */
export async function saveFile() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([await queueFile()], { type: "application/x-ndjson" }));
  link.download = `not-sent-${new Date().toISOString().slice(0, 16).replace(":", "")}.jsonl`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
