// A scanner types: this tells its reads from what hands type, on any page and wherever the focus is.
// A read becomes one "scan" event on the document; a page may take it with preventDefault, or else
// the label is decoded and filled in (scan_label.js). What hands type is never touched.

import { readLabel } from "./scan_label.js";

const GAP = 50; // ms between two keys of a scanner; hands are slower
const PAUSE = 120; // ms of silence end a read that has no terminator
const TAIL = 150; // ms in which a second terminator (CR and LF) still belongs to the read
const AGAIN = 1500; // ms in which the same text is the same read
const SHORTEST = 5; // characters

// The beginnings of labels that nobody types: ISBT 128, AIM identifiers, GS1 relation numbers.
const LABEL = /^([=&\]]|801[789]\d{5})/;
const MODIFIERS = new Set(["Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock", "NumLock"]);
const TYPED_INTO = "input:not([type=radio], [type=checkbox], [type=button], [type=submit]), textarea, [contenteditable]";

let read = null; // {text, last, place, value, start, end, caps}
let timer = 0;
let endedAt = -Infinity;
let before = { text: "", at: -Infinity };

document.addEventListener("keydown", hear, true);
document.addEventListener("keyup", hearUp, true);

function hear(event) {
  if (MODIFIERS.has(event.key)) return;
  const since = read === null ? Infinity : event.timeStamp - read.last;
  if (isTerminator(event)) return terminate(event, since <= PAUSE);
  const within = since <= GAP && !event.repeat;
  const character = event.isComposing || event.repeat ? "" : characterOf(event);
  if (!character) return forget();
  if (!within) begin(event);
  read.text += character;
  read.last = event.timeStamp;
  read.caps = event.getModifierState("CapsLock");
  // A space presses a button, and a control character may be a command of the browser.
  if (within && (event.ctrlKey || (event.key === " " && !isTypedInto(event.target)))) event.preventDefault();
  clearTimeout(timer);
  timer = setTimeout(() => setTimeout(fallSilent), PAUSE);
}

// Some browsers press a button when the space comes up again.
function hearUp(event) {
  if (event.key === " " && read !== null && read.text.length > 1 && !isTypedInto(event.target)) event.preventDefault();
}

function isTerminator(event) {
  return event.key === "Enter" || event.key === "Tab" || (event.ctrlKey && ["j", "m"].includes(event.key.toLowerCase()));
}

function characterOf(event) {
  if (event.ctrlKey && event.key === "]") return "\x1d"; // the separator of GS1, as keys
  const isCommand = (event.ctrlKey || event.metaKey) && !event.getModifierState("AltGraph");
  return event.key.length === 1 && !isCommand ? event.key : "";
}

function begin(event) {
  const place = document.activeElement;
  const isText = place.matches(TYPED_INTO) && typeof place.selectionStart === "number";
  read = {
    text: "",
    last: event.timeStamp,
    place,
    value: place.value,
    start: isText ? place.selectionStart : null,
    end: isText ? place.selectionEnd : null,
  };
}

function forget() {
  clearTimeout(timer);
  read = null;
}

function terminate(event, within) {
  if (within && isScan(read)) {
    event.preventDefault();
    event.stopPropagation();
    finish();
  } else if (event.timeStamp - endedAt <= TAIL) {
    event.preventDefault();
    event.stopPropagation();
    endedAt = event.timeStamp;
  } else {
    forget();
  }
}

// Twice over: keys that waited while the page was busy come before the second turn.
function fallSilent() {
  if (read !== null && performance.now() - read.last >= PAUSE && isScan(read)) finish();
}

function isTypedInto(place) {
  return place instanceof Element && place.matches(TYPED_INTO);
}

// A plain number is a read only where nobody can be typing it, or where a scan is asked for.
function isScan({ text, place }) {
  if (text.length < SHORTEST) return false;
  return LABEL.test(text) || !isTypedInto(place) || place.matches("[data-scan]");
}

function finish() {
  const { text, caps } = read;
  putBack(read);
  forget();
  const now = performance.now();
  endedAt = now;
  const isAgain = text === before.text && now - before.at < AGAIN;
  before = { text, at: now };
  if (isAgain) return;
  const scan = new CustomEvent("scan", { bubbles: true, cancelable: true, detail: { text, caps } });
  if (document.dispatchEvent(scan)) readLabel(text, caps);
}

// What the read put into the field that had the focus is taken out again.
function putBack({ place, value, start, end }) {
  if (value === undefined || !place.isConnected || place.value === value) return;
  place.value = value;
  if (start !== null) place.setSelectionRange(start, end);
  place.dispatchEvent(new Event("input", { bubbles: true }));
}
