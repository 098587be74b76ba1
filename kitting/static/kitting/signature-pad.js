// <signature-pad>: what a finger draws here becomes the photo of the form around it. Dark on white
// whatever the theme: it is printed.

const LINE = 3; // px
const [WIDE, HIGH] = [900, 300]; // px of the picture, whatever the screen

class SignaturePad extends HTMLElement {
  connectedCallback() {
    this.canvas = this.querySelector("canvas");
    const form = this.closest("form");
    this.file = form.querySelector("input[type=file]");
    form.addEventListener("reset", () => this.clear());
    [this.canvas.width, this.canvas.height] = [WIDE, HIGH];
    this.pen = this.canvas.getContext("2d");
    this.clear();
    this.canvas.addEventListener("pointerdown", (event) => this.begin(event));
    this.canvas.addEventListener("pointermove", (event) => this.draw(event));
    for (const end of ["pointerup", "pointercancel"]) this.canvas.addEventListener(end, () => this.end());
    this.querySelector("button").addEventListener("click", () => this.clear());
  }

  clear() {
    this.pen.fillStyle = "white";
    this.pen.fillRect(0, 0, WIDE, HIGH);
    this.file.value = "";
    this.down = false;
  }

  at(event) {
    const box = this.canvas.getBoundingClientRect();
    return [((event.clientX - box.left) * WIDE) / box.width, ((event.clientY - box.top) * HIGH) / box.height];
  }

  begin(event) {
    event.preventDefault();
    this.canvas.setPointerCapture(event.pointerId);
    this.down = true;
    this.pen.beginPath();
    this.pen.moveTo(...this.at(event));
  }

  draw(event) {
    if (!this.down) return;
    Object.assign(this.pen, { lineWidth: LINE, lineCap: "round", lineJoin: "round", strokeStyle: "black" });
    this.pen.lineTo(...this.at(event));
    this.pen.stroke();
  }

  end() {
    if (!this.down) return;
    this.down = false;
    this.canvas.toBlob((blob) => {
      const held = new DataTransfer();
      held.items.add(new File([blob], "signature.png", { type: "image/png" }));
      this.file.files = held.files;
    }, "image/png");
  }
}

customElements.define("signature-pad", SignaturePad);
