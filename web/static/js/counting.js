// Between updates the page counts on by itself: texts of time, the volume given, the line.

import { now, span, wallTime, wholeMinutes } from "./ward_clock.js";

function write(element, text) {
  if (element && text !== null && element.textContent !== text) element.textContent = text;
}

// What shows another instant than now, a replay, stands still.
const moving = (what) => [...document.querySelectorAll(what)].filter((one) => !one.closest("[data-still]"));

// The wordings of the server (server/pages/counted.py), from the same whole minutes.
function words(kind, at, limit, present) {
  const minutes = wholeMinutes(present, at);
  if (minutes < 0) return limit < present ? `${span(minutes)} late` : `${span(minutes)} ago`;
  if (kind === "ago") return "just now";
  const until = minutes > 0 ? `in ${span(minutes)}` : "now";
  return kind === "limit" ? `limit ${until}` : until;
}

function countTexts(present) {
  for (const element of moving("[data-count]")) {
    const at = Date.parse(element.dataset.at);
    const limit = Date.parse(element.dataset.limit); // without one NaN: never passed
    write(element, words(element.dataset.count, at, limit, present));
    element.classList.toggle("is-late", limit < present && wholeMinutes(present, at) < 0);
  }
}

function countVolumes(at) {
  for (const element of moving("[data-given]")) {
    const { given, rate, since, volume } = element.dataset;
    const hours = Math.max(0, at - Date.parse(since)) / 3600000;
    const sum = Number(given) + Number(rate) * hours;
    write(element, String(Math.floor(Math.min(sum, Number(volume)) + 1e-9)));
  }
}

// The vertical of now and the bars that grow with it; places are per cent of the window.
function moveNow(at) {
  for (const pane of moving("[data-from][data-to]")) {
    const from = Date.parse(pane.dataset.from);
    const x = (100 * (at - from)) / (Date.parse(pane.dataset.to) - from);
    for (const mark of pane.querySelectorAll("[data-now-x]")) place(mark, Math.max(0, Math.min(100, x)));
    for (const bar of pane.querySelectorAll("[data-grows]")) grow(bar, x);
  }
}

function place(mark, x) {
  for (const name of mark.dataset.nowX.split(" ")) mark.setAttribute(name, `${x.toFixed(2)}%`);
}

function grow(bar, x) {
  const [from, to] = bar.dataset.grows.split(" ").map(Number);
  const edge = Math.max(from, Math.min(to, x));
  const rest = bar.matches(".todo, .beyond");
  bar.setAttribute("x", `${(rest ? edge : from).toFixed(2)}%`);
  bar.setAttribute("width", `${(rest ? to - edge : edge - from).toFixed(2)}%`);
}

function countChecked(at) {
  const checked = document.getElementById("checked");
  if (!checked?.dataset.at) return;
  const seconds = Math.max(0, Math.floor((at - Date.parse(checked.dataset.at)) / 1000));
  write(checked, seconds < 120 ? `checked ${seconds} s ago` : `checked ${Math.floor(seconds / 60)} min ago`);
}

export function count() {
  const at = now();
  for (const text of moving("[data-wall]")) write(text, wallTime(at));
  countChecked(at);
  countTexts(at);
  countVolumes(at);
  moveNow(at);
}

count();
setInterval(count, 1000);
// A tab that comes back to the front is right at once, not after its next turn.
document.addEventListener("visibilitychange", () => document.hidden || count());
