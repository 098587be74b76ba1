// <stack-counts>: modules of each stack, by + and - and by one more stack like the last.
// Without this script each press is a page of its own that the server draws.

class StackCounts extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => {
      const press = event.target.closest("button[name=turn]");
      if (!press) return;
      event.preventDefault();
      this.turn(press);
      this.querySelector("input").dispatchEvent(new Event("change", { bubbles: true }));
    });
  }

  get rows() {
    return [...this.querySelectorAll("li")];
  }

  turn(press) {
    const act = press.value.split(" ").pop();
    if (act === "add") this.add();
    else if (act === "drop" && this.rows.length > 1) this.rows.at(-1).remove();
    else if (act === "+" || act === "-") this.step(press.closest("li").querySelector("input"), act);
  }

  step(box, sign) {
    const held = Number.parseInt(box.value, 10) || 0;
    box.value = Math.max(held + (sign === "+" ? 1 : -1), 1);
  }

  add() {
    const last = this.rows.at(-1);
    const fresh = last.cloneNode(true);
    const number = this.rows.length + 1;
    fresh.querySelector("input").value = last.querySelector("input").value;
    fresh.querySelector("b").textContent = number;
    for (const one of fresh.querySelectorAll("[aria-label]")) {
      const words = one.getAttribute("aria-label");
      one.setAttribute("aria-label", words.replace(/([Ss]tack) \d+/, `$1 ${number}`));
    }
    for (const press of fresh.querySelectorAll("button")) {
      press.value = press.value.replace(/ \d+ /, ` ${number} `);
    }
    last.after(fresh);
  }
}

customElements.define("stack-counts", StackCounts);
