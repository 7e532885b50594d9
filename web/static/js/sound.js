// The tone of a priority, made here from what the page says of it. A browser lets a page sound only
// after somebody has touched it.

import { isOn } from "./device.js";

let context = null;
let playing = [];

function wake() {
  context ??= new AudioContext();
  if (context.state === "suspended") context.resume().catch(() => {});
}

for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, wake, { passive: true });

export function canSound() {
  return isOn("sound") && context?.state === "running";
}

export function sound(priority) {
  const tones = document.querySelector("[data-tones]")?.dataset.tones;
  if (!tones || !canSound()) return;
  const { pitch_hz: pitch, pulse_s: length, starts_s: starts } = JSON.parse(tones)[priority];
  hush();
  playing = starts.map((start) => pulse(pitch, context.currentTime + start, length));
}

export function hush() {
  for (const one of playing) one.stop();
  playing = [];
}

function pulse(pitch, at, length) {
  const oscillator = new OscillatorNode(context, { frequency: pitch });
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(0.25, at + 0.02);
  gain.gain.linearRampToValueAtTime(0, at + length);
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(at);
  oscillator.stop(at + length);
  return oscillator;
}
