// The stream: rows as they change, the whole board when something was missed, and the three banners.

import { count } from "./counting.js";
import { applyOrder, isPressed, keepPlace, placesOfRows, travelFrom } from "./order.js";
import { correct, now, wallTime } from "./ward_clock.js";

const SILENCE = 10000; // without a tick for so long the page calls itself disconnected
const RETRY = 3000; // milliseconds, give or take a third
const GONE = [401, 403, 404, 410]; // signed out, or the link was taken back

const stream = document.getElementById("stream");
const staleAfter = Number(document.body.dataset.staleAfter) * 1000;
let connection = null;
let wasConnected = false;
let heardAt = Date.now();
let kickedAt = 0;
let refreshing = false;
let again = false;
let places = new Map();
let scrolled = 0;
let isAway = !document.getElementById("banner-away").hidden;
let isOwed = false; // a whole board, since the database is back

function show(id, text) {
  const banner = document.getElementById(id);
  const words = banner.querySelector("span");
  if (text && words.textContent !== text) words.textContent = text;
  banner.hidden = !text;
}

// ---- heartbeat ----

function hear() {
  heardAt = Date.now();
  show("banner-lost", "");
}

stream.addEventListener("tick", (event) => {
  const { at, checked_at: checkedAt, away } = JSON.parse(event.detail.data);
  correct(Date.parse(at));
  hear();
  if (checkedAt) document.getElementById("checked").dataset.at = checkedAt;
  show("banner-away", away);
  isOwed ||= isAway && !away;
  isAway = Boolean(away);
  if (isOwed) refresh();
  show("banner-late", lateText(Date.parse(at), checkedAt && Date.parse(checkedAt)));
});

function lateText(at, checkedAt) {
  if (!checkedAt) return "Reminders are not running: no check has been made yet.";
  if (at - checkedAt <= staleAfter) return "";
  return `Reminders are late: last check ${wallTime(checkedAt)}.`;
}

function watch() {
  const silence = Date.now() - heardAt;
  if (silence <= SILENCE) return;
  const since = wallTime(now() - silence);
  show("banner-lost", `Disconnected since ${since} – times go on counting, entries by others may be missing.`);
  if (Date.now() - kickedAt < SILENCE) return;
  kickedAt = Date.now();
  // A line that was cut without a goodbye looks open for ever: end it, and the stream reconnects.
  connection?.reader?.cancel();
}

setInterval(watch, 1000);

// ---- connection ----

document.addEventListener("htmx:sse:after:connection", (event) => {
  connection = event.detail.connection;
  if (wasConnected) refresh();
  wasConnected = true;
});

document.addEventListener("htmx:sse:error", (event) => leaveIfGone(event.detail.status));

document.addEventListener("htmx:response:error", (event) => {
  leaveIfGone(event.detail.ctx.response.status);
  retry(event);
});

document.addEventListener("htmx:error", retry);

function leaveIfGone(status) {
  if (GONE.includes(status)) setTimeout(() => location.reload(), RETRY);
}

// The extension reconnects a stream that was open once; a first failure is ours to repeat.
function retry(event) {
  if (event.target !== stream || wasConnected) return;
  setTimeout(() => stream.dispatchEvent(new Event("stream:open")), RETRY * (0.7 + 0.6 * Math.random()));
}

// ---- the whole board ----

async function refresh() {
  if (refreshing) {
    again = true;
    return;
  }
  refreshing = true;
  again = false;
  const board = document.getElementById("board");
  try {
    await htmx.ajax("GET", board.dataset.refresh, { target: board, swap: "outerMorph" });
  } finally {
    setTimeout(() => {
      refreshing = false;
      if (again) refresh();
    }, 1000);
  }
}

function revisionIn(html) {
  return Number(/data-revision="(\d+)"/.exec(html)?.[1] ?? 0);
}

// ---- swaps ----

document.addEventListener("htmx:before:swap", (event) => {
  const { ctx } = event.detail;
  places = placesOfRows();
  scrolled = window.scrollY;
  if (isPart(ctx)) return;
  const shown = Number(document.getElementById("order").dataset.revision);
  const isOld = revisionIn(ctx.text) < shown;
  if (ctx.response?.status >= 400 || isOld) event.preventDefault();
  if (isOld) again = true;
});

document.addEventListener("htmx:after:swap", (event) => {
  const part = isPart(event.detail.ctx);
  if (!part) isOwed = false;
  if (window.scrollY !== scrolled) window.scrollTo({ top: scrolled, behavior: "instant" });
  if (!isPressed()) return settle(part);
  document.addEventListener("pointerup", () => settle(part), { once: true });
});

// What the stream puts in place are rows; all else is a whole board.
function isPart(ctx) {
  return ctx.sourceElement === stream;
}

function settle(part) {
  const isWhole = keepPlace(applyOrder);
  const board = document.getElementById("board");
  const isSameWindow = document.getElementById("order").dataset.window === board.dataset.from;
  document.documentElement.toggleAttribute("data-night", board.hasAttribute("data-night"));
  write("zone-text", board.dataset.zoneText);
  write("closed-count", String(document.querySelectorAll("#closed-rows > .row").length));
  count();
  travelFrom(places);
  document.dispatchEvent(new Event("board:settled"));
  if (part && !(isWhole && isSameWindow)) refresh();
}

function write(id, text) {
  const element = document.getElementById(id);
  if (element && element.textContent !== text) element.textContent = text;
}

// The window of the axis moves on in steps even when nothing else changes. While the database is
// away nothing is sent, and yet limits pass: the board is fetched as it stands by what is known.
setInterval(() => {
  const board = document.getElementById("board");
  const middle = Date.parse(board.dataset.from) + 105 * 60000;
  if ((isAway || now() > middle) && document.getElementById("banner-lost").hidden) refresh();
}, 15000);
