// The identity check: a scan fills the right item wherever the focus is, one after the other.

const LABEL = /^[=&\]]/; // a label says where it begins; the number of a wristband does not
const APART = 1000; // ms between two keys that cannot be of one read

const waiting = [];
let busy = false;
let keys = [];

// A slow device can tear a read: what the scanner sent just before belongs to a plain number.
window.addEventListener("keydown", (event) => {
  const isSign = event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey;
  if (isSign) keys.push({ key: event.key, at: event.timeStamp });
  else if (event.key === "Enter" || event.key === "Tab") keys.push({ key: "\n", at: event.timeStamp });
  keys = keys.slice(-400);
}, true);

function whole(text) {
  if (LABEL.test(text)) return text;
  let end = keys.length;
  while (end > 0 && keys[end - 1].key === "\n") end -= 1;
  const first = end - text.length;
  if (first < 1) return text;
  let begin = first;
  while (begin > 0 && keys[begin - 1].key !== "\n" && keys[begin].at - keys[begin - 1].at < APART) begin -= 1;
  return keys.slice(begin, first).map(({ key }) => key).join("") + text;
}

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
  waiting.push(whole(event.detail.text));
  keys = [];
  next();
});

document.addEventListener("htmx:finally:request", (event) => {
  if (event.detail.ctx.sourceElement?.matches?.("form")) busy = false;
});

// After an answer: on with the next, or to what has to be seen.
document.addEventListener("htmx:after:swap", (event) => {
  const source = event.detail.ctx.sourceElement;
  if (!source?.matches?.("form")) return;
  const seen = document.querySelector("#identity [data-focus]");
  const field = document.querySelector("#scan [name=scan]");
  if (seen) waiting.length = 0;
  else if (field) field.value = "";
  (seen ?? document.getElementById("i-sign_in_name") ?? field)?.focus({ preventScroll: seen === null && field !== null });
  seen?.scrollIntoView({ block: "start" });
  busy = false;
  next();
});
