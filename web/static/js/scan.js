// A scanner types: this tells its reads from what hands type, on any page and wherever the focus is.
// A read becomes one "scan" event on the document; a page may take it with preventDefault, or else
// the label is decoded and filled in (scan_label.js). What hands type is never touched.

import { isBadge, readLabel, refuse, showBadge } from "./scan_label.js";

const GAP = 60; // ms between two keys of a scanner; hands are slower
const PAUSE = 200; // ms of silence end a read that has no terminator
const BREAK = 350; // ms of silence before a read: keys in between are of hands, or of a read that stuck
const TAIL = 150; // ms in which a second terminator (CR and LF) still belongs to the read
const AGAIN = 1500; // ms in which the same text is the same read
const SHORTEST = 5; // characters
const STUCK = "The read was broken off half-way. Scan it again.";

// The beginnings of labels that nobody types: ISBT 128, AIM identifiers, GS1 relation numbers.
const LABEL = /^([=&\]]|801[789]\d{5})/;
const BADGE = /^(\][A-Za-z]\d)?(8017\d{18}|='[0-9A-Za-z]{11})$/; // of GS1 and of ISBT 128
const MODIFIERS = new Set(["Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock", "NumLock"]);
const TYPED_INTO = "input:not([type=radio], [type=checkbox], [type=button], [type=submit]), textarea, [contenteditable]";

let read = null; // {text, fast, isMixed, caps, place, value, start, end}
let lastAt = -Infinity; // when the last character came
let endedAt = -Infinity; // when the last read did; what hands typed never was one
let before = { text: "", at: -Infinity };
let timer = 0;

// What came before everything listened comes first, once the page's other scripts have begun, too.
function listen() {
  for (const { event, ...at } of window.early.take()) hear(event, at);
  document.addEventListener("keydown", (event) => hear(event, window.early.placeOf()), true);
  document.addEventListener("keyup", hearUp, true);
}

if (document.readyState === "complete") listen();
else document.addEventListener("DOMContentLoaded", () => setTimeout(listen), { once: true });

function hear(event, at) {
  if (MODIFIERS.has(event.key)) return;
  const since = event.timeStamp - lastAt;
  if (isTerminator(event)) return terminate(event, read !== null && since <= PAUSE);
  const character = event.isComposing || event.repeat ? "" : characterOf(event);
  if (!character) return forget();
  if (read === null || since > BREAK) begin(since, at);
  else if (since <= GAP) read.fast += 1;
  else read.isMixed = true;
  read.text += character;
  read.caps = event.getModifierState("CapsLock");
  lastAt = event.timeStamp;
  // A space presses a button, and a control character may be a command of the browser.
  const acts = event.ctrlKey || (event.key === " " && !isTypedInto(event.target));
  if (since <= GAP && acts) event.preventDefault();
  clearTimeout(timer);
  timer = setTimeout(fallSilent, PAUSE, false);
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

function begin(since, { place, value, start, end }) {
  const isText = place.matches(TYPED_INTO) && typeof start === "number";
  read = { text: "", fast: 0, isMixed: since <= BREAK, place, value, start: isText ? start : null, end: isText ? end : null };
}

function forget() {
  clearTimeout(timer);
  read = null;
  lastAt = -Infinity;
}

function terminate(event, within) {
  const isRead = within && (isScan(read) || isStuck(read));
  const isTail = !isRead && event.timeStamp - endedAt <= TAIL;
  if (within && !isRead && mayBeBadge(read)) askOfBadge(event, read);
  if (isRead || isTail) {
    event.preventDefault();
    event.stopPropagation();
  }
  if (isRead) finish(event.timeStamp);
  forget();
}

// Asked twice: keys that waited while the page was busy come first. What comes right after is no
// new read, so that the time of the last character is kept.
function fallSilent(isSecond) {
  const rest = PAUSE - (performance.now() - lastAt);
  if (read === null) return;
  if (rest > 0 || !isSecond) {
    timer = setTimeout(fallSilent, Math.max(0, rest), rest <= 0);
    return;
  }
  if (isScan(read) || isStuck(read)) finish(performance.now());
  read = null;
}

function isTypedInto(place) {
  return place instanceof Element && place.matches(TYPED_INTO);
}

// A plain number is a read only where nobody can be typing it, or where a scan is asked for: a name
// that is filled in by a program is none.
function isScan({ text, place, isMixed }) {
  if (isMixed || text.length < SHORTEST) return false;
  return LABEL.test(text) || !isTypedInto(place) || (place.matches("[data-scan]") && /\d/.test(text));
}

// A plain badge can be shown while the cursor is in a field. Only the server knows whether it is
// one: until it has said so, nothing but the key that ends the read waits.
function mayBeBadge({ text, place, fast }) {
  const isQuick = text.length >= SHORTEST && fast === text.length - 1;
  return isQuick && /\d/.test(text) && !place.matches("[type=password]") && Boolean(document.body.dataset.person);
}

async function askOfBadge(event, shown) {
  const waits = event.key === "Enter" && shown.place.matches("input") ? shown.place.form : null;
  if (waits) event.preventDefault();
  if (await isBadge(shown.text)) {
    putBack(shown);
    showBadge(shown.text);
  } else if (waits) {
    waits.requestSubmit(waits.querySelector("button:not([type=button])"));
  }
}

// Part of a read is no read: what is left of it could be taken for another number.
function isStuck({ text, place, isMixed, fast }) {
  if (!isMixed) return false;
  return isTypedInto(place) ? LABEL.test(text) && fast > SHORTEST : fast > 1;
}

function finish(at) {
  const { text, caps, isMixed } = read;
  endedAt = at;
  if (isMixed) return refuse(STUCK, "Not read");
  putBack(read);
  const now = performance.now();
  const isAgain = text === before.text && now - before.at < AGAIN;
  before = { text, at: now };
  if (isAgain) return;
  // On a screen that asks who somebody is, whatever is read is a badge.
  if (BADGE.test(text) || asksWho()) return showBadge(text);
  const scan = new CustomEvent("scan", { bubbles: true, cancelable: true, detail: { text, caps } });
  if (document.dispatchEvent(scan)) readLabel(text, caps);
}

function asksWho() {
  return [...document.querySelectorAll(".covering, #by-badge, #badge, #second")].some((one) => one.checkVisibility());
}

// What the read put into the field that had the focus is taken out again.
function putBack({ place, value, start, end }) {
  if (value === undefined || !place.isConnected || place.value === value) return;
  place.value = value;
  if (start !== null) place.setSelectionRange(start, end);
  place.dispatchEvent(new Event("input", { bubbles: true }));
}
