// Reminders of the person who is signed in: what is new is said, sounds, and counts in the title.

import { count } from "./counting.js";
import { isOn, sound, turn } from "./sound.js";

const EVERY = 15000; // milliseconds between two looks of a page that shows something else
const RANK = ["high", "medium", "low"];
const title = document.title.replace(/^\(\d+\) /, "");

let known = null; // keys of what was there before; null: nothing was looked at so far

function look() {
  const owed = [...document.querySelectorAll("[data-owed]")];
  const fresh = known ? owed.filter((one) => !known.has(one.dataset.owed)) : [];
  known = new Set(owed.map((one) => one.dataset.owed));
  const number = Number(document.querySelector("[data-title-count]")?.dataset.titleCount ?? 0);
  const text = number ? `(${number}) ${title}` : title;
  if (document.title !== text) document.title = text;
  if (fresh.length) tell(fresh);
}

function tell(fresh) {
  const first = RANK.find((priority) => fresh.some((one) => one.dataset.priority === priority));
  const said = document.querySelector("[data-sound-said]");
  if (said) said.textContent = fresh.map((one) => one.dataset.said).join(". ");
  if (first) sound(first);
}

// ---- the switch ----

function showSwitch() {
  for (const place of document.querySelectorAll("[data-sound]")) {
    place.hidden = false;
    place.querySelector("[data-sound-switch]").setAttribute("aria-pressed", String(isOn()));
    place.querySelector("[data-sound-words]").textContent = isOn() ? "Sound on" : "Sound off";
  }
}

document.addEventListener("click", (event) => {
  if (!event.target.closest?.("[data-sound-switch]")) return;
  turn(!isOn());
  showSwitch();
  sound("low");
});

// ---- parts that this page fetches by itself ----

async function refill(place) {
  try {
    const answer = await fetch(place.dataset.refill, { headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return;
    put(place, await answer.text());
  } catch {
    // The page says by its own banner that the line is gone.
  }
}

function put(place, html) {
  if (place.contains(document.activeElement) && document.activeElement !== document.body) {
    const id = document.activeElement.closest("[data-owed]")?.dataset.owed;
    place.innerHTML = html;
    const same = id && place.querySelector(`[data-owed="${CSS.escape(id)}"] button, [data-owed="${CSS.escape(id)}"] a`);
    same?.focus();
  } else {
    place.innerHTML = html;
  }
  count();
  look();
}

// "I have it" beside a board: the board stays where it is.
document.addEventListener("submit", async (event) => {
  const form = event.target;
  const place = form.closest?.("[data-refill]");
  if (!place) return;
  event.preventDefault();
  event.stopPropagation();
  if (form.dataset.sent) return;
  form.dataset.sent = "yes";
  try {
    await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
  } catch {
    delete form.dataset.sent; // not sent: it can be touched again
    return;
  }
  refill(place);
}, true);

const places = [...document.querySelectorAll("[data-refill]")];
for (const place of places) refill(place);
if (places.length) setInterval(() => places.forEach(refill), EVERY);

document.addEventListener("htmx:after:swap", () => {
  showSwitch();
  look();
});

showSwitch();
look();
