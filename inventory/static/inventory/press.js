// A form of one of our pages pressed from another page, as the server draws it now: with the keys
// that make it count once.

/** Fetch a page and send its form; `more`: fields put in place of its buttons. Leads away, or gives
 *  words why not; none: the words where there is no such form or page. */
export async function press(address, selector, more = {}, none = { form: "", page: "" }) {
  let form;
  try {
    const reply = await fetch(address);
    if (!reply.ok) return none.page;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    form = page.querySelector(selector);
  } catch {
    return "No signal to print with.";
  }
  if (!form) return none.form;
  for (const button of form.querySelectorAll("button, span")) button.remove();
  for (const [name, value] of Object.entries(more)) {
    form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  }
  form.action = form.getAttribute("action") || new URL(address, location).pathname;
  document.body.append(document.adoptNode(form));
  form.submit();
  return "";
}
