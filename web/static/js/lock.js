// The lock: after a while without a touch the page is covered and the server told. The server is
// what refuses; this only shows it, and keeps everything on the page in place until the same person
// is back. Pages of one browser tell each other.

import { dropTyped, keepTyped } from "./typed.js";

const NOTED = 60000; // ms between two signs to the server that somebody is here
const TOLD = 5000; // ms between two signs to other pages of this browser
const SIGNS = ["pointerdown", "pointermove", "keydown", "wheel", "touchmove"];
const NO_ANSWER = "The server does not answer. Try again when the line is back.";

const lockAfter = Number(document.body.dataset.lock) * 1000;
const cover = document.getElementById("lock");
const form = document.getElementById("unlock");
const others = new BroadcastChannel("fourth-hour");

let actedAt = Date.now();
let notedAt = Date.now();
let toldAt = 0;
let before = null; // where the focus was

// ---- covering: whatever else stands on the page is out of sight, also for a screen reader ----

export function show(over) {
  before ??= document.activeElement;
  for (const one of document.body.children) if (one !== over) one.inert = true;
  document.body.classList.add("is-covered");
  over.inert = false;
  over.hidden = false;
  (over.querySelector("input:not([type=hidden])") ?? over.querySelector("h2")).focus();
}

export function hide(over) {
  over.hidden = true;
  over.querySelector("form").reset();
  say(over, "");
  for (const one of document.body.children) one.inert = false;
  document.body.classList.remove("is-covered");
  before?.focus({ preventScroll: true });
  before = null;
}

export function say(over, why) {
  const place = over.querySelector("[data-why]");
  place.textContent = why;
  place.hidden = !why;
}

export function isLocked() {
  return !cover.hidden || cover.dataset.below === "yes";
}

export function uncover(token) {
  delete cover.dataset.below;
  for (const field of document.querySelectorAll("input[name=csrf_token]")) field.value = token;
  [actedAt, notedAt] = [Date.now(), Date.now()];
  for (const over of document.querySelectorAll(".covering")) if (!over.hidden || over === cover) hide(over);
}

// ---- locking ----

async function lock() {
  if (isLocked()) return;
  show(cover);
  await keepTyped();
  const token = form.elements.csrf_token.value;
  await fetch("/lock", { method: "POST", body: new URLSearchParams({ csrf_token: token }) }).catch(() => {});
  others.postMessage({ say: "locked" });
}

// The server was first: the page slept, or another page locked.
function locked() {
  if (isLocked()) return;
  show(cover);
  keepTyped();
}

function act(event) {
  if (isLocked() || !event.isTrusted) return;
  actedAt = Date.now();
  if (actedAt - toldAt > TOLD) {
    toldAt = actedAt;
    others.postMessage({ say: "acted" });
  }
  if (actedAt - notedAt > NOTED) note();
}

async function note() {
  notedAt = Date.now();
  const body = new URLSearchParams({ csrf_token: form.elements.csrf_token.value });
  const answer = await fetch("/act", { method: "POST", body, redirect: "manual" }).catch(() => null);
  if (answer?.status === 423) locked();
}

for (const sign of SIGNS) document.addEventListener(sign, act, { capture: true, passive: true });
if (lockAfter) setInterval(() => Date.now() - actedAt >= lockAfter && lock(), 1000);

document.addEventListener("submit", (event) => {
  if (!event.target.matches(".top .who")) return;
  event.preventDefault();
  event.stopPropagation();
  if (event.submitter?.matches("[data-lock-now]")) lock();
  else keepTyped().then(() => event.target.submit()); // whoever signs out finds it again
}, true);

for (const kind of ["htmx:before:response", "htmx:response:error"]) {
  document.addEventListener(kind, (event) => event.detail.ctx?.response?.status === 423 && locked());
}
// An answer to the secret of before the lock says "signed out" while the person is back already:
// who sits here is asked first, and a page with something typed on it is not left for nothing.
document.addEventListener("htmx:before:response", (event) => {
  const { response, sourceElement } = event.detail.ctx ?? {};
  if (response?.status !== 401 || sourceElement?.matches?.("form")) return;
  event.preventDefault();
  follow();
});
document.addEventListener("htmx:sse:error", (event) => event.detail.status === 423 && locked());
document.addEventListener("session:locked", locked);

// ---- unlocking ----

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  event.stopPropagation();
  say(cover, "");
  const answer = await send(form, { stays: location.pathname });
  if (answer?.token) {
    uncover(answer.token);
    others.postMessage({ say: "unlocked", token: answer.token });
    return;
  }
  form.elements.secret.value = "";
  say(cover, answer?.why ?? NO_ANSWER);
  if (answer?.ended) location.assign(`/sign-in?next=${encodeURIComponent(location.pathname)}`);
  else form.elements.secret.focus();
});

// Answers what the server says as JSON, null without an answer.
export async function send(asked, more) {
  const body = new URLSearchParams(new FormData(asked));
  for (const [name, value] of Object.entries(more)) body.set(name, value);
  asked.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(asked.getAttribute("action"), { method: "POST", body });
    return await answer.json();
  } catch {
    return null;
  } finally {
    asked.removeAttribute("aria-busy");
  }
}

// ---- other pages of this browser ----

others.addEventListener("message", ({ data }) => {
  if (data.say === "acted") actedAt = Date.now();
  if (data.say === "locked") locked();
  if (data.say === "unlocked" && isLocked()) {
    uncover(data.token);
    dropTyped();
  }
  if (data.say === "leaving") keepTyped();
  if (data.say === "changed") follow();
});

// Whoever sits here now: the same person goes on, another one gets a page of their own.
async function follow() {
  const answer = await fetch("/who").catch(() => null);
  if (!answer?.ok) return;
  const { person, locked: isLockedThere } = await answer.json();
  if (person !== document.body.dataset.person) leave();
  else if (isLockedThere) locked();
}

// Nothing of what was typed may come back into the fields of the next person's page.
export function leave() {
  for (const typed of document.forms) typed.reset();
  document.dispatchEvent(new Event("typed:left"));
  location.replace(location.pathname + location.search);
}

export function tellOthers(what) {
  others.postMessage({ say: what });
}

// A page that comes out of the browser's memory, or wakes up, may be somebody else's by now.
window.addEventListener("pageshow", (event) => event.persisted && follow());
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && follow());
