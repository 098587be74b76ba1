// <show-typed>: shows a password while it is typed, for gloves and small keys. Hidden without script.

class ShowTyped extends HTMLElement {
  connectedCallback() {
    const field = document.getElementById(this.getAttribute("for"));
    const box = this.querySelector("input");
    this.hidden = false;
    box.checked = false; // a page that is come back to hides it again
    box.addEventListener("change", () => (field.type = box.checked ? "text" : "password"));
    // What a browser keeps of a form, or offers next time, is what a text field held.
    field.form.addEventListener("submit", () => (field.type = "password"));
  }
}

customElements.define("show-typed", ShowTyped);
