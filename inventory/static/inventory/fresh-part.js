// <fresh-part address>: a part of the page that the server draws again after each answer.

const PAUSE = 250; // ms: a run of scans asks once

class FreshPart extends HTMLElement {
  connectedCallback() {
    document.addEventListener("queue:answer", () => {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.draw(), PAUSE);
    });
  }

  async draw() {
    const address = this.getAttribute("address") || location.href;
    try {
      const reply = await fetch(address, { headers: { "X-Requested-With": "part" } });
      if (!reply.ok) return;
      const page = new DOMParser().parseFromString(await reply.text(), "text/html");
      const fresh = page.getElementById(this.id);
      if (!fresh) return;
      this.replaceChildren(...fresh.childNodes);
      this.dispatchEvent(new Event("drawn", { bubbles: true }));
    } catch {
      // Without signal the part stays as it was; the badge says so.
    }
  }
}

customElements.define("fresh-part", FreshPart);
