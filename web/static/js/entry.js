// Forms: a time that nobody has touched keeps up with the ward's clock; a refusal gets the focus.

import "./arrive.js";
import { now, wallTime } from "./ward_clock.js";

const touched = new WeakSet();

function isoDay(instant) {
  const shape = { timeZone: document.body.dataset.zone, year: "numeric", month: "2-digit", day: "2-digit" };
  return new Intl.DateTimeFormat("en-CA", shape).format(instant);
}

// What was typed stands; what was filled in by itself stays the present minute.
function keepUp() {
  const at = now();
  const time = wallTime(at);
  if (time === null) return;
  for (const place of document.querySelectorAll("[data-happened]")) {
    if (touched.has(place) || place.matches(".wrong") || place.querySelector("[type=radio]")) continue;
    const [clock, day] = place.querySelectorAll("input");
    if (document.activeElement === clock || document.activeElement === day) continue;
    if (clock.value !== time) clock.value = time;
    const today = isoDay(at);
    if (day.value !== today) day.value = today;
  }
}

document.addEventListener("input", (event) => {
  const place = event.target.closest("[data-happened]");
  if (place) touched.add(place);
});

// What could not be stored happened when it was first sent, however late it is sent again.
document.addEventListener("form:unsent", (event) => {
  for (const place of event.target.querySelectorAll("[data-happened]")) touched.add(place);
});

// One touch takes a typed time back to the present minute.
document.addEventListener("click", (event) => {
  const place = event.target.closest?.("[data-now]")?.parentElement.querySelector("[data-happened]");
  if (!place) return;
  touched.delete(place);
  keepUp();
});

document.addEventListener("focusin", (event) => {
  if (event.target.matches("[data-happened] .time")) event.target.select();
});

keepUp();
setInterval(keepUp, 1000);
