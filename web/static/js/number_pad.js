// A number pad of our own for vital signs, on devices for fingers: big keys that leave the field and
// what stands beside it in sight. Whoever would rather have the keyboard of the device says so once.

import { isOn, turn } from "./device.js";

const NAME = "number_pad";
const FIELD = ".observed [data-most]";
const pad = document.getElementById("number-pad");
const way = document.getElementById("pad-way");
const fingers = matchMedia("(pointer: coarse)");

const PRESS_MS = 300; // longer than a finger takes from moving the cursor to the click

let field = null; // the number that the pad types into
let leaving = 0; // the timer that gives the pad's room back

const isUsed = () => fingers.matches && isOn(NAME);

// The device shows its own keyboard unless the field says, before it gets the cursor, that none is wanted.
function prepare(target) {
  const number = target.closest?.(FIELD);
  if (number) number.inputMode = isUsed() ? "none" : "decimal";
}

function show(number) {
  clearTimeout(leaving);
  field = number;
  pad.hidden = false;
  document.documentElement.style.setProperty("--pad", `${pad.offsetHeight}px`);
  document.documentElement.classList.add("has-pad");
  number.closest(".sign").scrollIntoView({ block: "nearest" });
}

// A press on a button moves the cursor before it clicks. At the foot of a page, room that went at once would
// take the button from under the finger, and nothing would be recorded.
function hide() {
  field = null;
  pad.hidden = true;
  clearTimeout(leaving);
  leaving = setTimeout(() => document.documentElement.classList.remove("has-pad"), PRESS_MS);
}

// The way back to the pad stands in the form where the keyboard is used instead.
function offer(number) {
  way.hidden = !fingers.matches || isOn(NAME);
  if (!way.hidden) number.closest(".signs").after(way);
}

document.addEventListener("pointerdown", (event) => prepare(event.target), true);

document.addEventListener("focusin", ({ target }) => {
  if (pad.contains(target) || way.contains(target)) return;
  if (!target.matches?.(FIELD)) return hide();
  prepare(target);
  offer(target);
  if (isUsed()) show(target);
  else hide();
});

document.addEventListener("focusout", ({ relatedTarget }) => {
  if (!relatedTarget) setTimeout(() => document.activeElement === document.body && hide());
});

// ---- typing ----

pad.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the cursor

pad.addEventListener("click", ({ target }) => {
  const key = target.closest(".key");
  if (!key || !field?.isConnected) return;
  if (document.activeElement !== field) field.focus();
  if (key.dataset.type) type(key.dataset.type);
  else ACTS[key.dataset.do]();
});

function type(text) {
  field.setRangeText(text, field.selectionStart, field.selectionEnd, "end");
  tell("insertText", text);
}

const ACTS = {
  back() {
    const { selectionStart: start, selectionEnd: end } = field;
    field.setRangeText("", start === end ? Math.max(0, start - 1) : start, end, "end");
    tell("deleteContentBackward", null);
  },
  // As Enter does: to the next number that is empty, and not past one that was led to just now.
  next() {
    const enter = new KeyboardEvent("keydown", { key: "Enter", bubbles: true, cancelable: true });
    if (field.dispatchEvent(enter)) field.form.querySelector(".tiles input:checked, .record .button:not([data-now])")?.focus();
  },
  keyboard() {
    choose(false);
  },
};

function tell(inputType, data) {
  field.dispatchEvent(new InputEvent("input", { bubbles: true, inputType, data }));
}

// The cursor leaves and comes back: only then does the device look again at what the field wants.
function choose(isPad) {
  const place = field ?? way.closest("form")?.querySelector("[data-most]");
  turn(NAME, isPad);
  place?.blur();
  place?.focus();
}

way.addEventListener("click", () => choose(true));
