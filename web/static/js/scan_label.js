// What happens to a read that no page takes for itself: the server decodes the label, the fields
// that ask for it (data-scan) are filled in, and what was read or refused is said.

const SAID = 8000; // ms for which what was read stays; a refusal stays until the next read
const NO_ANSWER = "The label could not be read: the server does not answer. Scan it again, or type it.";
const SIGN_IN = "The label could not be read: sign in again, then scan it.";
const CAPS = " Caps Lock is on.";

const good = banner("status", "read", "Read");
const bad = banner("alert", "refused", "Not read");
let hiding = 0;

export async function readLabel(text, caps) {
  const token = document.querySelector("input[name=csrf_token]")?.value;
  if (!token) return;
  const label = await decode(token, text);
  if (label.badge) showBadge(text);
  else if (label.why) refuse(label.why + (caps ? CAPS : ""), "Not read");
  else if (label.stops.length) refuse(label.stop, "Stop");
  else tell(fill(label));
}

// Whether what came as fast as a scanner types is a badge; a label is left to whoever types it.
export async function isBadge(text) {
  const token = document.querySelector("input[name=csrf_token]")?.value;
  return token ? (await decode(token, text)).badge === true : false;
}

// Whose badge it is, the page asks for the PIN of; a page that asks for a badge takes it.
export function showBadge(text) {
  refuse("", "Not read");
  document.dispatchEvent(new CustomEvent("badge", { detail: { text } }));
}

async function decode(token, text) {
  const body = new URLSearchParams({ csrf_token: token, scan: text });
  try {
    const answer = await fetch("/labels", { method: "POST", body, redirect: "manual" });
    const isJson = (answer.headers.get("content-type") ?? "").includes("json");
    return isJson ? await answer.json() : { why: answer.status >= 500 ? NO_ANSWER : SIGN_IN };
  } catch {
    return { why: NO_ANSWER };
  }
}

// ---- filling in ----

function fill({ read, fields }) {
  const filled = new Set();
  const replaced = new Set();
  for (const [name, value] of Object.entries(fields)) {
    const place = placeOf(name);
    if (!place) continue;
    filled.add(name);
    if (put(place, value)) replaced.add(name);
  }
  const words = read.map(({ name, words: said }) => (replaced.has(name) ? `${said} (in place of another)` : said));
  const unasked = read.length > 0 && filled.size === 0;
  return words.join("; ") + (unasked ? ". Nothing on this page asks for it." : ".");
}

// The form in which somebody is at work comes first.
function placeOf(name) {
  const places = [...document.querySelectorAll(`[data-scan~="${name}"]`)].filter((place) => place.checkVisibility());
  const form = document.activeElement?.closest("form");
  return places.find((place) => place.closest("form") === form) ?? places[0];
}

// Answers whether another value stood there.
function put(place, value) {
  if (!place.matches("fieldset")) return write(place, value);
  if (place.querySelector("[type=checkbox]")) return tick(place, value.split(" "));
  const [day, clock] = value.split("T");
  const others = [write(place.querySelector("[name$=_date]"), day), write(place.querySelector("[name$=_time]"), clock)];
  return others.includes(true);
}

// What one label shows joins what others have shown: nothing is unticked.
function tick(place, values) {
  for (const box of place.querySelectorAll("[type=checkbox]")) {
    if (box.checked || !values.includes(box.value)) continue;
    box.checked = true;
    box.dispatchEvent(new Event("change", { bubbles: true }));
  }
  return false;
}

function write(input, value) {
  if (!input || value === undefined || input.value === value) return false;
  const isOther = input.value !== "";
  input.value = value;
  for (const kind of ["input", "change"]) input.dispatchEvent(new Event(kind, { bubbles: true }));
  return isOther;
}

// What was read has served once it is stored: what was stored takes its place.
document.addEventListener("htmx:before:swap", (event) => {
  if (event.detail.ctx?.sourceElement?.matches?.("form")) show(good, "");
});

// ---- saying ----

function banner(role, kind, mark) {
  const element = document.createElement("div");
  element.className = `scan-said ${kind}`;
  element.setAttribute("role", role);
  element.append(document.createElement("b"), document.createElement("span"));
  element.firstChild.textContent = mark;
  element.dataset.empty = "yes";
  document.querySelector(".banners")?.append(element);
  return element;
}

function show(element, text) {
  element.lastChild.textContent = text;
  element.toggleAttribute("data-empty", !text);
}

function tell(text) {
  clearTimeout(hiding);
  show(bad, "");
  show(good, text);
  hiding = setTimeout(show, SAID, good, "");
}

export function refuse(text, mark) {
  clearTimeout(hiding);
  show(good, "");
  bad.classList.toggle("stop", mark === "Stop");
  bad.firstChild.textContent = mark;
  show(bad, text);
}
