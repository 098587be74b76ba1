// From the inputs of a form to the fields of an event line.

const WHOLE = new Set(["quantity", "number"]);
const PAGES = new Set(["csrfmiddlewaretoken", "once"]); // the page's own, of no event

/** Named inputs as fields: empty ones left out, "1/2" as a position, photos not among them.

"money", as 1250 or 1250.00 or 1250,00, is the quantity, in cents. */
export function fieldsOf(form) {
  const fields = {};
  for (const [name, value] of new FormData(form)) {
    if (typeof value !== "string" || !value.trim() || PAGES.has(name)) continue;
    if (name === "money") fields.quantity = cents(value.trim());
    else fields[name] = one(name, value.trim());
  }
  return fields;
}

function one(name, value) {
  if (name === "position") {
    const [stack, level] = value.split("/").map(Number);
    return { stack, level };
  }
  return WHOLE.has(name) && /^\d+$/.test(value) ? Number(value) : value;
}

function cents(value) {
  const [, whole, part = ""] = value.match(/^([0-9]{1,12})(?:[.,]([0-9]{1,2}))?$/) ?? [];
  return whole === undefined ? value : Number(whole + part.padEnd(2, "0"));
}
