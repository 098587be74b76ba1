// From the inputs of a form to the fields of an event line.

import { doubt, inBase, shifted } from "./typed.js";

const WHOLE = new Set(["quantity", "number"]);
const PAGES = new Set(["csrfmiddlewaretoken", "once"]); // the page's own, of no event

/** Named inputs as fields: empty ones left out, "1/2" as a position, photos not among them.

"money", as 1250 or 1250.00 or 1 250,00, is the quantity, in cents. What is no number goes as it is. */
export function fieldsOf(form) {
  const fields = {};
  for (const [name, value] of new FormData(form)) {
    if (typeof value !== "string" || !value.trim() || PAGES.has(name)) continue;
    if (name === "money") fields.quantity = figure(form, name, value) ?? value.trim();
    else fields[name] = one(form, name, value.trim());
  }
  return fields;
}

function one(form, name, value) {
  if (name === "position") {
    const [stack, level] = value.split("/").map(Number);
    return { stack, level };
  }
  if (name === "due") return moment(value);
  const chosen = listed(form.elements[name]);
  if (chosen) return chosen.dataset.code;
  return figure(form, name, value) ?? value;
}

/** "11:30" is today's, where this device is; the line says it in UTC. */
function moment(value) {
  const [hour, minute] = value.split(":").map(Number);
  const at = new Date();
  at.setHours(hour, minute, 0, 0);
  return at.toISOString();
}

/** What was typed into a box for numbers, as the event line has it; null for no such. */
function figure(form, name, value) {
  if (name === "money") return shifted(value, 2);
  if (!WHOLE.has(name)) return null;
  const units = form.elements[name]?.dataset?.units ?? "";
  return inBase(value, units.split(" "));
}

/** What a text typed into a long list means (inventory/listed.py): what was offered, its code, or a
 *  name that only one has; undefined of none, and of any other field. */
export function listed(input) {
  if (!input?.matches?.("[data-listed]")) return undefined;
  const wanted = input.value.trim().toLowerCase();
  const options = [...input.list.options];
  const whole = options.find((one) => [one.value, one.dataset.code].some((text) => text.toLowerCase() === wanted));
  const begin = (end) => options.filter(({ value }) => value.toLowerCase().startsWith(wanted + end));
  const named = begin(" (").length ? begin(" (") : begin(", "); // a place is told with the one around it
  return whole ?? (named.length === 1 ? named[0] : undefined);
}

/** Why what was typed, a number or one of a list, cannot be taken, in a sentence; "" where all can. */
export function unclear(form) {
  for (const input of form.querySelectorAll("[name=money], [name=quantity], [name=number]")) {
    const text = input.value.trim();
    const wrong = Boolean(text) && !input.disabled && figure(form, input.name, text) === null;
    input.setAttribute("aria-invalid", String(wrong));
    if (!wrong) continue;
    const name = input.labels?.[0]?.innerText.trim() ?? "";
    const two = doubt(text);
    const why = two ? `can be ${two[0]} or ${two[1]}. Write one of them.` : "is no number that fits here.";
    return `${name}: ${text} ${why}`;
  }
  for (const input of form.querySelectorAll("[data-listed]")) {
    const text = input.value.trim();
    const wrong = Boolean(text) && !listed(input);
    input.setAttribute("aria-invalid", String(wrong));
    if (wrong) return `${input.labels[0].innerText.trim()}: ${text} is none of the list. Choose one that is offered.`;
  }
  return "";
}
