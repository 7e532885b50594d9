// A short tone made here. A browser lets a page sound only after somebody has touched it.

const REMEMBERED = "sound"; // on this device: nothing of any patient
const TONES = { high: 3, medium: 2, low: 1 };
const PITCH = { high: 880, medium: 660, low: 523 }; // hertz
const LENGTH = 0.16; // seconds, and as long again between two

let context = null;

function wake() {
  context ??= new AudioContext();
  if (context.state === "suspended") context.resume().catch(() => {});
}

for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, wake, { passive: true });

export function isOn() {
  try {
    return localStorage.getItem(REMEMBERED) !== "off";
  } catch {
    return true; // a browser that keeps nothing
  }
}

export function turn(on) {
  try {
    localStorage.setItem(REMEMBERED, on ? "on" : "off");
  } catch {
    // Then it holds until the page is left.
  }
}

export function sound(priority) {
  if (!isOn() || context?.state !== "running") return;
  for (let at = 0; at < TONES[priority]; at += 1) tone(PITCH[priority], context.currentTime + at * 2 * LENGTH);
}

function tone(pitch, at) {
  const oscillator = new OscillatorNode(context, { frequency: pitch });
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(0.25, at + 0.02);
  gain.gain.linearRampToValueAtTime(0, at + LENGTH);
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(at);
  oscillator.stop(at + LENGTH);
}
