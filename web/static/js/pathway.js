// The pathway of a unit: the present step open, what is typed kept, what others record shown.

const typed = new WeakSet(); // forms that somebody has typed into since they were last stored
const KEPT = "hx-morph-skip";

const episode = () => document.getElementById("episode");
const present = () => document.querySelector(".step.present");

// ---- steps ----

function open(step) {
  step.querySelector(":scope > details").open = true;
}

function goTo(step) {
  open(step);
  const heading = step.querySelector("summary");
  heading.focus({ preventScroll: true });
  step.scrollIntoView({ block: "start" });
}

function foldAllBut(step) {
  for (const one of document.querySelectorAll(".step")) {
    const fold = one.querySelector(":scope > details");
    fold.open = one === step || [...one.querySelectorAll("form")].some((form) => typed.has(form));
  }
}

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href*='#step-']");
  const step = link && document.getElementById(new URL(link.href).hash.slice(1));
  if (!step) return;
  event.preventDefault();
  goTo(step);
});

const asked = new URLSearchParams(location.search).get("step");
const first = asked && document.getElementById(`step-${asked}`);
if (first && !document.querySelector("[data-focus]")) goTo(first);

// ---- what is typed ----

document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (form?.closest("#episode")) typed.add(form);
});

document.addEventListener("htmx:before:swap", (event) => {
  const { ctx } = event.detail;
  const sent = ctx.sourceElement;
  if (sent?.matches?.("form") && ctx.response?.status < 400) {
    typed.delete(sent);
    sent.reset();
  }
  for (const form of document.forms) form.toggleAttribute(KEPT, typed.has(form) && form !== sent);
});

// ---- after an answer: to what is wrong, or on to the next step ----

document.addEventListener("htmx:after:swap", (event) => {
  for (const form of document.querySelectorAll(`[${KEPT}]`)) form.removeAttribute(KEPT);
  const source = event.detail.ctx.sourceElement;
  if (source?.id === "standing") return follow();
  if (!source?.matches?.("form")) return;
  const wrong = document.querySelector("#episode [data-focus]");
  if (!wrong) return goOn(source);
  wrong.closest("details")?.setAttribute("open", "");
  wrong.focus({ preventScroll: true });
  wrong.scrollIntoView({ block: "center" });
});

function goOn(sent) {
  const panel = sent.closest(".reaction") && document.querySelector("#reaction.suspected h2");
  const step = present();
  if (sent.closest(".pathway, .dock, .saved") && step) {
    foldAllBut(step);
    return goTo(step);
  }
  const place = panel ?? document.getElementById("recorded");
  if (!place) return;
  place.tabIndex = -1;
  place.focus({ preventScroll: true });
  place.scrollIntoView({ block: "center" });
}

// ---- what another person recorded ----

let following = false;

async function follow() {
  const shown = document.getElementById("standing").dataset.revision;
  if (following || !episode() || shown === episode().dataset.revision) return;
  following = true;
  const before = present();
  const busy = before?.contains(document.activeElement) || isTyped(before);
  try {
    await htmx.ajax("GET", episode().dataset.href, { target: "#episode", swap: "outerMorph" });
  } finally {
    following = false;
  }
  const after = present();
  if (after && after !== before && !busy) foldAllBut(after);
}

function isTyped(step) {
  return step ? [...step.querySelectorAll("form")].some((form) => typed.has(form)) : false;
}
