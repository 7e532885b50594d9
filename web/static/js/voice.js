// Reminders spoken by the browser's own speech: only by a voice that lives on this device.

import { isOn } from "./device.js";

const speech = window.speechSynthesis;
let speaking = [];

function ownVoice() {
  const own = speech?.getVoices().filter((voice) => voice.localService) ?? [];
  return own.find((voice) => voice.lang.startsWith(document.documentElement.lang)) ?? own[0];
}

export function canSpeak() {
  return Boolean(ownVoice());
}

export function willSpeak() {
  return isOn("voice") && canSpeak();
}

// Voices come some time after the page.
export function whenVoicesCome(act) {
  speech?.addEventListener("voiceschanged", act);
}

// What is more urgent does not wait until what is less so has been said.
export function speak(calls) {
  if (!willSpeak()) return;
  if (calls.some((call) => call.priority === "high")) speech.cancel();
  for (const call of calls) {
    speaking.push(call.tag);
    const words = new SpeechSynthesisUtterance(call.said);
    words.voice = ownVoice();
    words.lang = words.voice.lang;
    words.onend = () => (speaking = speaking.filter((tag) => tag !== call.tag));
    speech.speak(words);
  }
}

// What is said of something that calls no longer is broken off.
export function breakOff(tags) {
  if (speaking.length === 0 || speaking.every((tag) => tags.includes(tag))) return;
  speaking = [];
  speech.cancel();
}
