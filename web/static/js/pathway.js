// The pathway of a unit: the present step open, what is typed kept, what others record shown.

let sent = null; // where the form stood that was answered last
const typed = new WeakSet(); // forms that somebody has typed into since they were last stored
const KEPT = "hx-morph-skip";

const episode = () => document.getElementById("episode");
const present = () => document.querySelector(".step.present");

// ---- steps ----

function open(step) {
  for (const fold of step.querySelectorAll(":scope > details, .act-fold[data-main]")) fold.open = true;
}

// What was stored a moment ago stays in sight; what is shown next begins below it.
function belowSaved() {
  const saved = document.getElementById("recorded")?.offsetHeight ?? 0;
  document.documentElement.style.setProperty("--saved", `${saved}px`);
}

function goTo(step) {
  open(step);
  const heading = step.querySelector("summary");
  heading.focus({ preventScroll: true });
  belowSaved();
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

// A page that comes back with something recorded elsewhere leads on to the present step, too.
const asked = new URLSearchParams(location.search).get("step");
const first = asked ? document.getElementById(`step-${asked}`) : document.getElementById("recorded") && present();
if (first && !document.querySelector("[data-focus], #prompted")) goTo(first);

// ---- what is typed ----

document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (form?.closest("#episode")) typed.add(form);
});

document.addEventListener("htmx:before:swap", (event) => {
  const { ctx } = event.detail;
  const source = ctx.sourceElement;
  if (source?.matches?.("form")) sent = { ctx, ...placeOf(source, ctx.response?.status < 400) };
  for (const form of document.forms) form.toggleAttribute(KEPT, typed.has(form) && form !== source);
});

// Where a form stood, noted before the answer takes it away.
function placeOf(form, isStored) {
  if (isStored) {
    typed.delete(form);
    form.reset();
  }
  return { inPathway: form.closest(".pathway, .saved") !== null, inReaction: form.closest(".reaction") !== null };
}

// ---- a scan begins the identity check ----

// It leads to another page: not while something is typed on this one.
document.addEventListener("scan", (event) => {
  const form = document.querySelector("#step-identity form.begin");
  if (!form || [...document.forms].some((one) => typed.has(one))) return;
  event.preventDefault();
  form.elements.scan.value = event.detail.text;
  form.requestSubmit();
});

// ---- after an answer: to what is wrong, or on to the next step ----

document.addEventListener("htmx:after:swap", (event) => {
  for (const form of document.querySelectorAll(`[${KEPT}]`)) form.removeAttribute(KEPT);
  if (event.detail.ctx.sourceElement?.id === "standing") return follow();
  if (event.detail.ctx !== sent?.ctx) return;
  const wrong = document.querySelector("#episode [data-focus]");
  const answered = sent;
  sent = null;
  if (!wrong) return goOn(answered);
  wrong.closest("details")?.setAttribute("open", "");
  wrong.focus({ preventScroll: true });
  wrong.scrollIntoView({ block: "center" });
});

function goOn(from) {
  const prompted = document.getElementById("prompted"); // a set asks to pause: that comes first
  if (prompted) {
    const next = present();
    if (next) foldAllBut(next);
    prompted.focus({ preventScroll: true });
    belowSaved();
    return prompted.scrollIntoView({ block: "start" });
  }
  const panel = from.inReaction && document.querySelector("#reaction.suspected h2");
  const step = present();
  if (from.inPathway && step) {
    foldAllBut(step);
    return goTo(step);
  }
  const place = panel || document.getElementById("recorded");
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
  const busy = before?.contains(document.activeElement?.closest("input, select, textarea")) || isTyped(before);
  try {
    await htmx.ajax("GET", episode().dataset.href, { target: "#episode", swap: "outerMorph" });
  } finally {
    following = false;
  }
  const after = present();
  if (!after || after === before || busy) return;
  if (before) before.querySelector(":scope > details").open = false;
  open(after);
}

function isTyped(step) {
  return step ? [...step.querySelectorAll("form")].some((form) => typed.has(form)) : false;
}
