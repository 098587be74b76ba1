// Worker of the live camera: a frame comes in, the codes in it go out. A plain script, not a module,
// because the decoder's own file beside it (fetched by `make setup`) is one.
//
// In: {reader, wasm} once, addresses; then {frame, full}. Out: {ready: true} or {trouble: words}, then
// for each frame {codes: [{text, format, off}], full, took}: `off` is how far a code's middle lies from
// the picture's, 0 to 1 in halves of its width or height, the larger; `took` in ms.

// What goods and our own labels carry; the names are the decoder's. ITF14 is the 14 digits alone:
// shorter ones are read out of pieces of others and of the edges of things (measured).
const LINES = ["Code128", "EAN13", "UPCA"];
const ALL = [...LINES, "Code39Std", "ITF14", "QRCode", "DataMatrix"];
const QUICK = { formats: LINES, tryHarder: false, tryRotate: false, tryInvert: false, tryDownscale: false };
const FULL = { formats: ALL, tryHarder: true, tryRotate: true, tryInvert: false, tryDownscale: true };
const PLAIN = { textMode: "Plain", maxNumberOfSymbols: 8 };
const MOST = 4_000_000; // pixels of a quick pass

const canvas = new OffscreenCanvas(1, 1);
const pencil = canvas.getContext("2d", { willReadFrequently: true });

async function start({ reader, wasm }) {
  try {
    importScripts(reader);
    await ZXingWASM.prepareZXingModule({ overrides: { locateFile: () => wasm }, fireImmediately: true });
    postMessage({ ready: true });
  } catch (error) {
    postMessage({ trouble: error.message });
  }
}

/** The frame's pixels, made smaller where a quick pass would take too long. */
function pixels(frame, full) {
  const scale = full ? 1 : Math.min(1, Math.sqrt(MOST / (frame.width * frame.height)));
  const [width, height] = [frame.width, frame.height].map((side) => Math.floor(side * scale));
  if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
  pencil.drawImage(frame, 0, 0, width, height);
  frame.close();
  return pencil.getImageData(0, 0, width, height);
}

function off({ topLeft, topRight, bottomLeft, bottomRight }, { width, height }) {
  const corners = [topLeft, topRight, bottomLeft, bottomRight];
  const middle = (axis) => corners.reduce((sum, corner) => sum + corner[axis], 0) / 4;
  const half = (axis, side) => Math.abs(middle(axis) - side / 2) / (side / 2);
  return Math.max(half("x", width), half("y", height));
}

async function read({ frame, full }) {
  const began = performance.now();
  const picture = pixels(frame, full);
  const found = await ZXingWASM.readBarcodes(picture, { ...(full ? FULL : QUICK), ...PLAIN });
  const codes = found
    .filter((one) => one.isValid && one.text && one.contentType !== "Binary")
    .map(({ text, format, position }) => ({ text, format, off: off(position, picture) }));
  postMessage({ codes, full, took: performance.now() - began });
}

addEventListener("message", ({ data }) => (data.frame ? read(data) : start(data)));
