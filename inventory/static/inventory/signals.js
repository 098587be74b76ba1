// What a verdict sounds and feels like. Each can be switched off; the word and the shape stay.

// Tones as [hertz, seconds]; vibration as [ms on, ms off, ...]. Good: one short high tone; bad: long
// and low (common practice, no source).
const SIGNALS = {
  saved: { tones: [[1200, 0.04]], shakes: [20] },
  applied: { tones: [[1500, 0.09]], shakes: [40] },
  noted: { tones: [[900, 0.06], [900, 0.06]], shakes: [30, 60, 30] },
  waiting: { tones: [[700, 0.12]], shakes: [80] },
  problem: { tones: [[700, 0.12], [500, 0.2]], shakes: [120, 60, 120] },
  dispute: { tones: [[300, 0.2], [600, 0.2], [300, 0.2]], shakes: [200, 80, 200] },
  stopped: { tones: [[220, 0.35], [220, 0.35]], shakes: [300, 100, 300] },
  otherwise: { tones: [[500, 0.15], [900, 0.15], [500, 0.15], [900, 0.3]], shakes: [60, 40, 60, 40, 400] },
  refused: { tones: [[180, 0.6]], shakes: [500] },
};
let sound;

const KEPT = { sound: "lastbolt-quiet", shake: "lastbolt-still" };
export const isOff = (sense) => localStorage.getItem(KEPT[sense]) === "yes";
export const setOff = (sense, yes) => localStorage.setItem(KEPT[sense], yes ? "yes" : "no");

/** Sound and shake for a verdict. */
export function signal(verdict) {
  const { tones, shakes } = SIGNALS[verdict] ?? SIGNALS.noted;
  if (!isOff("shake") && navigator.userActivation?.hasBeenActive) navigator.vibrate?.(shakes);
  if (!isOff("sound")) play(tones);
}

function play(tones) {
  sound ??= new AudioContext();
  // Until somebody has touched the page the browser keeps it silent.
  if (sound.state === "suspended") sound.resume();
  let at = sound.currentTime;
  for (const [hertz, seconds] of tones) {
    const tone = new OscillatorNode(sound, { type: "triangle", frequency: hertz });
    const volume = new GainNode(sound, { gain: 0.4 });
    tone.connect(volume).connect(sound.destination);
    tone.start(at);
    tone.stop(at + seconds);
    at += seconds + 0.05;
  }
}
