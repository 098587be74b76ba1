// What every page must keep, asked in the page itself; the answer is a list of sentences.
// Run by tests/screens.py: one function that takes {phone}.
({ phone }) => {
  const faults = [];
  const root = document.documentElement;
  const seen = (element) => element.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  const named = (element) =>
    `${element.tagName.toLowerCase()} "${(element.innerText || element.name || element.id || "").trim().slice(0, 40)}"`;

  if (root.scrollWidth > root.clientWidth) {
    const wide = [...document.querySelectorAll("main *")].filter(
      (one) => seen(one) && one.getBoundingClientRect().right > root.clientWidth + 1,
    );
    faults.push(`sideways scroll: ${root.scrollWidth} > ${root.clientWidth}: ${wide.slice(0, 3).map(named).join(", ")}`);
  }
  if (/\bsafe(ly|ty)?\b/i.test(document.body.innerText)) faults.push("a word that is not ours to say");
  const overlap = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  for (const row of document.querySelectorAll("main tbody tr")) {
    const cells = [...row.cells].filter((cell) => seen(cell) && cell.innerText.trim());
    const boxes = cells.map((cell) => cell.getBoundingClientRect());
    const over = cells.findIndex((_, n) => boxes.slice(0, n).some((box) => overlap(box, boxes[n])));
    if (over > 0) faults.push(`${named(cells[over])} lies over another cell of its row`);
  }
  // What stands in a sheet stays in it; what may be drawn along has a frame of its own.
  for (const sheet of document.querySelectorAll("main .sheet")) {
    const edge = sheet.getBoundingClientRect().right;
    const out = [...sheet.querySelectorAll("*")].find(
      (one) => seen(one) && one.getBoundingClientRect().right > edge + 1 && !one.closest(".along, .hidden-words, svg, option"),
    );
    if (seen(sheet) && out) faults.push(`${named(out)} goes out of its sheet`);
  }
  for (const tag of document.querySelectorAll("main .tag, main button")) {
    if (seen(tag) && tag.scrollWidth > tag.clientWidth + 1) faults.push(`${named(tag)} goes out of its frame`);
  }
  // What is drawn along begins at its newest end.
  for (const along of document.querySelectorAll(".way .along")) {
    const newest = [...along.querySelectorAll("circle")].pop()?.getBoundingClientRect();
    const frame = along.getBoundingClientRect();
    if (newest && (newest.left < frame.left || newest.right > frame.right)) faults.push("the newest move is out of sight");
  }
  if (!phone) return faults;

  // A choice is pressed by its label; a word within a sentence is no control.
  const LEAST = 48;
  const THUMB = 126;
  const inSentence = (link) =>
    getComputedStyle(link).display === "inline" &&
    link.parentElement.innerText.trim().length > link.innerText.trim().length;
  for (const one of document.querySelectorAll("a[href], button, input, select, textarea, summary")) {
    if (one.type === "hidden" || one.matches(".skip, [type=file]") || !seen(one)) continue;
    if (one.tagName === "A" && inSentence(one)) continue;
    const choice = one.matches("[type=radio], [type=checkbox]");
    const box = ((choice && one.closest("label")) || one).getBoundingClientRect();
    if (Math.min(box.width, box.height) < LEAST - 0.5) {
      faults.push(`${named(one)}: expected ${LEAST} px, got ${box.width.toFixed()} x ${box.height.toFixed()}`);
    }
  }
  // On the smallest phone what leads on stands in for the camera where nothing waits to be scanned.
  const leads = innerWidth < 390 && document.querySelector(".scanning .hands .onward") &&
    !document.querySelector("[data-waits], [data-unscanned]");
  const pressed = leads ? ".hands .undo, .hands .onward" : ".hands button, .hands label.press";
  for (const one of document.querySelectorAll(`.scanning :is(${pressed}), .thumb`)) {
    const { width, height } = one.getBoundingClientRect();
    if (seen(one) && Math.min(width, height) < THUMB - 0.5) {
      faults.push(`${named(one)}: expected ${THUMB} px, got ${width.toFixed()} x ${height.toFixed()}`);
    }
  }

  // Contrast after WCAG 2.2 (relative luminance, success criterion 1.4.6: 7 to 1).
  const pencil = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const over = (colour, ground) => {
    pencil.fillStyle = `rgb(${ground.join(" ")})`;
    pencil.fillRect(0, 0, 1, 1);
    pencil.fillStyle = colour;
    pencil.fillRect(0, 0, 1, 1);
    return [...pencil.getImageData(0, 0, 1, 1).data].slice(0, 3);
  };
  const light = (rgb) => {
    const [r, g, b] = rgb.map((part) => {
      const share = part / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const groundOf = (element) => {
    const above = element.parentElement ? groundOf(element.parentElement) : [255, 255, 255];
    return over(getComputedStyle(element).backgroundColor, above);
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const asked = new Set();
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || asked.has(element)) continue;
    if (!seen(element) || element.closest("svg, .skip, :disabled, option")) continue;
    asked.add(element);
    const ground = groundOf(element);
    const [high, low] = [light(over(getComputedStyle(element).color, ground)), light(ground)].sort((a, b) => b - a);
    const ratio = (high + 0.05) / (low + 0.05);
    if (ratio < 7) faults.push(`${named(element)}: expected contrast 7, got ${ratio.toFixed(2)}`);
  }
  return faults;
};
