// Forms: a refusal gets the focus, nothing is sent twice, and what was typed survives a lost line.

import { keep, REASON, release } from "./unsent.js";

const PATIENCE = 20000; // milliseconds without an answer
const summary = document.querySelector("[data-focus]");
if (summary) summary.focus();

// ---- forms that htmx sends ----

function sentByHtmx(event) {
  const form = event.detail.ctx?.sourceElement;
  return form?.matches?.("form[hx-post]") ? form : null;
}

document.addEventListener("htmx:config:request", (event) => {
  if (sentByHtmx(event)) event.detail.ctx.request.timeout = `${PATIENCE}ms`;
});

document.addEventListener("htmx:before:response", (event) => {
  const form = sentByHtmx(event);
  if (!form) return;
  const { status } = event.detail.ctx.response;
  const barred = { 401: REASON.signedOut, 423: REASON.locked }[status];
  if (!barred && status < 500) return release(form);
  event.preventDefault(); // an error page must not take the place of what was typed
  keep(form, barred ?? REASON.failed);
});

document.addEventListener("htmx:error", (event) => {
  const form = sentByHtmx(event);
  if (form) keep(form, event.detail.error === "timeout" ? REASON.silence : reasonNow());
});

function reasonNow() {
  return navigator.onLine ? REASON.silence : REASON.offline;
}

// What refreshes itself and asked before an answer came may show what stood before it: a press that
// was stored would seem not to be. It asks again by itself.
let answers = 0;
const asked = new WeakMap(); // by the context of a request: how many answers had come before it

document.addEventListener("htmx:before:request", (event) => asked.set(event.detail.ctx, answers));

document.addEventListener("htmx:before:response", (event) => {
  if (sentByHtmx(event)) answers += 1;
});

document.addEventListener("htmx:after:request", (event) => {
  if (!sentByHtmx(event) && asked.get(event.detail.ctx) < answers) event.preventDefault();
});

// ---- plain forms: sent from here, so that an answer that never comes leaves the page as it is ----

function isOurs(form) {
  return form.matches("[method=post]:not([hx-post], [target], [enctype])") && !form.querySelector("[type=password]");
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches("[hx-post], [data-download]")) return; // htmx queues by itself; a file leaves the page as it is
  if (form.dataset.sent) return event.preventDefault();
  form.dataset.sent = "yes";
  if (!isOurs(form)) return;
  event.preventDefault();
  send(form, event.submitter);
});

async function send(form, submitter) {
  const body = new URLSearchParams(new FormData(form, submitter?.name ? submitter : null));
  let answer;
  try {
    answer = await fetch(form.getAttribute("action"), { method: "POST", body, signal: AbortSignal.timeout(PATIENCE), headers: { Accept: "text/html" } });
  } catch (failure) {
    return keep(form, failure.name === "TimeoutError" ? REASON.silence : reasonNow());
  }
  if (answer.status === 423) {
    keep(form, REASON.locked);
    return document.dispatchEvent(new Event("session:locked"));
  }
  if (answer.status >= 500) return keep(form, REASON.failed);
  if (answer.redirected && new URL(answer.url).pathname === "/sign-in" && !form.matches(".who")) {
    return keep(form, REASON.signedOut);
  }
  release(form);
  if (answer.redirected) return go(answer.url);
  show(await answer.text());
}

// To the same address with another place on it a browser would only scroll.
function go(address) {
  const [to, here] = [new URL(address), new URL(location.href)];
  if (to.pathname === here.pathname && to.search === here.search) location.reload();
  else location.assign(address);
}

// A refused form is answered as the same page with what was typed and why.
function show(html) {
  const read = new DOMParser().parseFromString(html, "text/html");
  document.title = read.title;
  document.getElementById("main").replaceWith(read.getElementById("main"));
  window.htmx?.process(document.getElementById("main"));
  const wrong = document.querySelector("#main [data-focus]") ?? document.getElementById("main");
  wrong.focus();
  document.dispatchEvent(new Event("form:answered"));
}

// Coming back with the browser's own button shows the form as it was: it may be sent again.
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});
