// Another person at the same device: a badge that is scanned on any page asks for its PIN in place,
// and the page opens as that person sees it. What the one before had typed is kept for them.

import { hide, isLocked, leave, say, send, show, tellOthers, uncover } from "./lock.js";
import { dropTyped, keepTyped } from "./typed.js";

const WAIT = 300; // ms for other pages of this browser to keep what was typed on them
const NO_ANSWER = "The server does not answer. Try again when the line is back.";
const NOT_KEPT = "What was typed here could not be kept, so that nothing was changed. Try again.";

const cover = document.getElementById("lock");
const over = document.getElementById("change");
const form = document.getElementById("change-person");

function ask(badge) {
  if (!cover.hidden) {
    cover.hidden = true;
    cover.inert = true;
    cover.dataset.below = "yes";
  }
  show(over);
  if (!badge) return;
  form.elements.badge.value = badge;
  form.elements.pin.focus();
}

function stay() {
  hide(over);
  if (isLocked()) {
    delete cover.dataset.below;
    show(cover);
  }
}

document.addEventListener("badge", ({ detail }) => {
  const place = isLocked() || !over.hidden ? null : askedOnPage();
  if (!place) return ask(detail.text);
  place.elements.badge.value = detail.text;
  (place.elements.pin ?? place.elements.badge).focus();
});

function askedOnPage() {
  return [...document.querySelectorAll("form[data-takes-badge], form#second")].find((one) => one.checkVisibility());
}

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-change]")) {
    event.preventDefault();
    ask("");
  }
  if (event.target.closest("[data-leave]")) stay();
});

over.addEventListener("keydown", (event) => event.key === "Escape" && stay());

over.querySelector("[data-by-name]").addEventListener("click", async (event) => {
  event.preventDefault();
  await keepTyped();
  document.dispatchEvent(new Event("typed:left"));
  location.assign(`/sign-in?next=${encodeURIComponent(location.pathname + location.search)}`);
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  event.stopPropagation();
  say(over, "");
  tellOthers("leaving");
  const [isKept] = await Promise.all([keepTyped(), new Promise((done) => setTimeout(done, WAIT))]);
  if (!isKept && !isLocked()) return say(over, NOT_KEPT);
  const answer = await send(form, {});
  if (answer?.token) return goOn(answer.token);
  if (answer?.href) {
    tellOthers("changed");
    return leave();
  }
  if (!isLocked()) dropTyped();
  form.elements.pin.value = "";
  say(over, answer?.why ?? NO_ANSWER);
  form.elements[form.elements.badge.value ? "pin" : "badge"].focus();
});

// It was the same person: the page stays as it is.
function goOn(token) {
  uncover(token);
  dropTyped();
  tellOthers("changed");
}
