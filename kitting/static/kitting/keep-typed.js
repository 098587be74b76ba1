// Nothing typed is lost while the server's answer is put into the page: an answer may be older
// than the last key, so what stands in the fields of the part it replaces is put back.

let held = []; // name, place among its kind, value or tick of each field that is replaced

const FIELDS = "input:not([type=hidden]), select";
const ticks = (box) => box.type === "radio" || box.type === "checkbox";
const alike = (box) =>
  [...document.getElementsByName(box.name)].filter((one) => one.type === box.type);

document.addEventListener("htmx:oobBeforeSwap", (event) => {
  for (const box of event.detail.target.querySelectorAll(FIELDS)) {
    // What was left empty may be filled in by the answer.
    if (box.type === "radio" ? !box.checked : box.type !== "checkbox" && !box.value) continue;
    const { name, type, value, checked } = box;
    held.push({ name, type, value, checked, at: alike(box).indexOf(box) });
  }
});

document.addEventListener("htmx:afterRequest", () => {
  for (const { name, type, value, checked, at } of held) {
    const found = [...document.getElementsByName(name)].filter((one) => one.type === type);
    const box = ticks({ type }) ? found.find((one) => one.value === value) : found[at];
    if (!box) continue;
    if (ticks(box)) box.checked = checked;
    else box.value = value;
  }
  held = [];
});
