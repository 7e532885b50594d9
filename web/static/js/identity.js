// The identity check: a scan fills the right item wherever the focus is, one after the other.

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
  waiting.push(event.detail.text);
  next();
});

document.addEventListener("htmx:finally:request", () => {
  busy = false;
});

// After an answer: empty the field unless it was refused, and show what has to be seen.
document.addEventListener("htmx:after:swap", (event) => {
  const source = event.detail.ctx.sourceElement;
  if (!source?.matches?.("form")) return;
  const wrong = document.querySelector("#identity [data-focus]");
  const field = document.querySelector("#scan [name=scan]");
  if (wrong) waiting.length = 0;
  else if (field) field.value = "";
  const place = wrong ?? document.getElementById("i-sign_in_name") ?? field;
  place?.focus({ preventScroll: Boolean(field) && place === field });
  if (wrong) wrong.scrollIntoView({ block: "start" });
  next();
});
