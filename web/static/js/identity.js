// The identity check: a scan fills the right item wherever the focus is, one after the other.

import { refuse } from "./scan_label.js";

const waiting = [];
let busy = false;

// A check that has ended takes nothing more: what the scanner still sends is not for it.
function next() {
  const form = document.getElementById("scan");
  if (!form) waiting.length = 0;
  if (busy || waiting.length === 0) return;
  busy = true;
  form.elements.scan.value = waiting.shift();
  form.requestSubmit();
}

document.addEventListener("scan", (event) => {
  if (!document.getElementById("scan")) return;
  event.preventDefault();
  refuse("", "Not read"); // what was refused before is over
  waiting.push(event.detail.text);
  next();
});

// Whoever waits asks again and again: the end of such a question is not that of a scan.
const onlyWaits = (event) => event.detail.ctx.sourceElement?.id === "waiting";

document.addEventListener("htmx:finally:request", (event) => {
  if (!onlyWaits(event)) busy = false;
});

// After an answer: on with the next, or to what has to be seen. Whoever only waits keeps the focus.
document.addEventListener("htmx:after:swap", (event) => {
  if (onlyWaits(event)) return;
  const seen = document.querySelector("#identity [data-focus]");
  const field = document.querySelector("#scan [name=scan]");
  if (seen) waiting.length = 0;
  else if (field) field.value = "";
  (seen ?? document.getElementById("i-badge") ?? field)?.focus({ preventScroll: seen === null && field !== null });
  seen?.scrollIntoView({ block: "start" });
  busy = false;
  next();
});
