// Reminders of the person who is signed in: what is new is announced, sounds, is spoken and notified
// of, and counts in the title; what calls no longer falls silent everywhere.

import { count } from "./counting.js";
import { claim, isOn, release, turn } from "./device.js";
import { agree, lack, notify, willNotify, withdraw } from "./notices.js";
import { canSound, hush, sound } from "./sound.js";
import { breakOff, canSpeak, speak, whenVoicesCome, willSpeak } from "./voice.js";

const EVERY = 15000; // milliseconds between two looks of a page that shows something else
const SOON = 500; // so long after a change a page looks, so that many at once are one look
const RANK = ["high", "medium", "low"];
const title = document.title.replace(/^\(\d+\) /, "");

let known = null; // tags of what was there before; null: nothing was looked at so far

function callOf({ dataset }) {
  const { tag, priority, said, title: heading, body, href } = dataset;
  return { tag, priority, said, title: heading, body, href };
}

function look() {
  if (!document.querySelector("[data-own-calls]")) return; // nothing is there yet, or it is another's
  const calls = [...document.querySelectorAll("[data-owed]")].map(callOf);
  const tags = calls.map((call) => call.tag);
  const fresh = known ? calls.filter((call) => !known.includes(call.tag)) : [];
  const gone = known?.filter((tag) => !tags.includes(tag));
  if (!gone || gone.length) fallSilent(tags);
  if (gone?.length) release(gone);
  known = tags;
  const number = Number(document.querySelector("[data-title-count]")?.dataset.titleCount ?? 0);
  const text = number ? `(${number}) ${title}` : title;
  if (document.title !== text) document.title = text;
  if (fresh.length) tell(fresh.sort((a, b) => RANK.indexOf(a.priority) - RANK.indexOf(b.priority)));
}

async function tell(fresh) {
  announce("high", fresh.filter((call) => call.priority === "high"));
  announce("other", fresh.filter((call) => call.priority !== "high"));
  notify(fresh);
  // A page that cannot be heard leaves it to another that can.
  if (canSound() && (await unheard("sound", fresh)).length) sound(fresh[0].priority);
  if (willSpeak()) speak(await unheard("voice", fresh));
}

async function unheard(way, calls) {
  const tags = await claim(way, calls.map((call) => call.tag));
  return calls.filter((call) => tags.includes(call.tag));
}

function announce(region, calls) {
  const place = document.querySelector(`[data-say="${region}"]`);
  if (place && calls.length) place.textContent = calls.map((call) => call.said).join(". ");
}

function fallSilent(tags) {
  if (known) hush();
  breakOff(tags);
  withdraw(tags);
}

// ---- the switches ----

const SWITCHES = {
  sound: { words: "Sound", on: () => isOn("sound"), can: () => true },
  voice: { words: "Voice", on: willSpeak, can: canSpeak },
  notices: { words: "Notifications", on: willNotify, can: () => !lack() },
};

function showSwitches() {
  for (const place of document.querySelectorAll("[data-sound]")) {
    place.hidden = false;
    for (const button of place.querySelectorAll("[data-switch]")) {
      const one = SWITCHES[button.dataset.switch];
      button.hidden = !one.can();
      button.setAttribute("aria-pressed", String(one.on()));
      button.querySelector("[data-words]").textContent = `${one.words} ${one.on() ? "on" : "off"}`;
    }
    const why = [canSpeak() ? "" : "This browser has no voice of its own.", lack()].filter(Boolean).join(" ");
    place.querySelector("[data-lack]").textContent = why;
  }
}

document.addEventListener("click", async (event) => {
  const name = event.target.closest?.("[data-switch]")?.dataset.switch;
  if (!name) return;
  const on = !SWITCHES[name].on();
  turn(name, name === "notices" && on ? await agree() : on);
  showSwitches();
  if (name === "sound") sound("low");
  if (name === "voice") on ? speak([{ tag: "", said: "Voice on", priority: "low" }]) : breakOff([]);
  if (name === "notices" && !on) withdraw([]);
});

// Who signs out leaves nothing behind that calls.
document.addEventListener("submit", (event) => {
  if (event.target.id === "leave") withdraw([]);
});

// ---- parts that this page fetches by itself ----

async function refill(place) {
  try {
    const answer = await fetch(place.dataset.refill, { headers: { Accept: "text/html" } });
    if (answer.redirected && new URL(answer.url).pathname === "/sign-in") withdraw([]); // signed out elsewhere
    if (!answer.ok || answer.redirected) return;
    put(place, await answer.text());
  } catch {
    // The page says by its own banner that the line is gone.
  }
}

function put(place, html) {
  if (place.contains(document.activeElement) && document.activeElement !== document.body) {
    const tag = document.activeElement.closest("[data-owed]")?.dataset.tag;
    place.innerHTML = html;
    const same = tag && place.querySelector(`[data-tag="${CSS.escape(tag)}"] button, [data-tag="${CSS.escape(tag)}"] a`);
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

// ---- what somebody else did is known at once ----

let soon = 0;

function lookSoon() {
  clearTimeout(soon);
  soon = setTimeout(() => {
    places.forEach(refill);
    document.getElementById("mine")?.dispatchEvent(new Event("ward:changed"));
  }, SOON);
}

document.addEventListener("board:settled", lookSoon);
for (const place of document.querySelectorAll("[data-changes]")) follow(place.dataset.changes);

// A browser comes back by itself to a stream that broke off, but not to one that was refused, as
// while the database is away.
function follow(address) {
  const source = new EventSource(address);
  source.addEventListener("changed", lookSoon);
  source.addEventListener("tick", ({ data }) => {
    document.dispatchEvent(new CustomEvent("ward:tick", { detail: JSON.parse(data) }));
  });
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) setTimeout(follow, EVERY, address);
  });
}

document.addEventListener("htmx:after:swap", () => {
  showSwitches();
  look();
});

whenVoicesCome(showSwitches);
showSwitches();
look();
