// <photo-progress address>: while the photo of its form is being read, how far that is. The form is
// sent as ever and its answer is the next page; until that comes, this one stands and asks.

const PAUSE = 600; // ms
const MOST = 500; // questions: who stops a sending is not asked for ever

class PhotoProgress extends HTMLElement {
  connectedCallback() {
    // What is being done is read aloud, the count is not: it changes with every look.
    this.step = this.appendChild(document.createElement("p"));
    this.step.setAttribute("role", "status");
    this.count = this.appendChild(document.createElement("p"));
    this.closest("form").addEventListener("submit", ({ target }) => this.follow(target));
    addEventListener("pagehide", () => this.end());
  }

  async follow(form) {
    const reading = (this.reading = {});
    const address = `${this.getAttribute("address")}?key=${new FormData(form).get("once")}`;
    this.show({ step: "The photo is on its way.", count: "" });
    this.scrollIntoView({ block: "nearest" });
    for (let asked = 0; asked < MOST && this.reading === reading; asked++) {
      await new Promise((later) => setTimeout(later, PAUSE));
      await this.ask(address);
    }
  }

  async ask(address) {
    try {
      const reply = await fetch(address);
      const said = reply.ok ? await reply.json() : {};
      if (said.step && this.reading) this.show(said);
    } catch {
      // What was said last stands: the answer itself comes with the next page.
    }
  }

  show({ step, count }) {
    if (this.step.textContent !== step) this.step.textContent = step;
    this.count.textContent = count;
  }

  /** A page that is come back to is not reading. */
  end() {
    this.reading = undefined;
    this.show({ step: "", count: "" });
  }
}

customElements.define("photo-progress", PhotoProgress);
