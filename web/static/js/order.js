// The order of the rows: applied without taking the focus, and so that the eye can follow it.

const LISTS = { open: "rows", closed: "closed-rows" };
const TRAVEL = 800; // milliseconds: long enough for the eye, short enough for a hand
const still = matchMedia("(prefers-reduced-motion: reduce)");

let pressed = false;
document.addEventListener("pointerdown", () => (pressed = true));
for (const name of ["pointerup", "pointercancel"]) {
  document.addEventListener(name, () => (pressed = false));
}

// Nothing may move away under a finger that is coming down on it.
export function isPressed() {
  return pressed;
}

function wanted(order, which, nurse) {
  const pairs = order.dataset[which].split(" ").filter(Boolean).map((text) => text.split(":"));
  return pairs.filter(([, key]) => !nurse || key === nurse).map(([key]) => `row-${key}`);
}

// Answers false when the page lacks a row, or a list to put it in: then only a whole board helps.
export function applyOrder() {
  const board = document.getElementById("board");
  const order = document.getElementById("order");
  const ids = {};
  for (const which of Object.keys(LISTS)) ids[which] = wanted(order, which, board.dataset.nurse);
  countRows(order);
  if (!canApply(ids)) return false;
  dropOthers([...ids.open, ...ids.closed]);
  for (const which of Object.keys(LISTS)) {
    const list = document.getElementById(LISTS[which]);
    if (list) arrange(list, ids[which].map((id) => document.getElementById(id)));
  }
  return true;
}

function canApply(ids) {
  return Object.keys(LISTS).every((which) => {
    const list = document.getElementById(LISTS[which]);
    if (!list) return ids[which].length === 0;
    return ids[which].length > 0 && ids[which].every((id) => document.getElementById(id));
  });
}

function dropOthers(ids) {
  const kept = new Set(ids);
  for (const row of document.querySelectorAll("#board .row")) {
    if (!kept.has(row.id)) row.remove();
  }
}

// A browser may scroll to a focused row that it moves; the reader stays where they are.
export function keepPlace(act) {
  const [x, y] = [window.scrollX, window.scrollY];
  const answer = act();
  if (window.scrollY !== y) window.scrollTo({ left: x, top: y, behavior: "instant" });
  return answer;
}

function arrange(list, rows) {
  const focused = rows.findIndex((row) => row.contains(document.activeElement));
  if (list.moveBefore || focused < 0) arrangeFreely(list, rows);
  else arrangeAround(list, rows, focused);
}

function arrangeFreely(list, rows) {
  let cursor = list.firstElementChild;
  for (const row of rows) {
    if (row === cursor) cursor = cursor.nextElementSibling;
    else if (list.moveBefore) list.moveBefore(row, cursor);
    else list.insertBefore(row, cursor);
  }
}

// Without moveBefore a moved row loses the focus: the others move around the one that has it.
function arrangeAround(list, rows, focused) {
  const anchor = rows[focused];
  if (anchor.parentNode !== list) return;
  rows.slice(0, focused).forEach((row) => list.insertBefore(row, anchor));
  rows.slice(focused + 1).forEach((row) => list.append(row));
}

function countRows(order) {
  const keys = wanted(order, "open", "").length;
  const nurses = order.dataset.open.split(" ").filter(Boolean).map((text) => text.split(":")[1]);
  for (const place of document.querySelectorAll("[data-rows-of]")) {
    const key = place.dataset.rowsOf;
    place.textContent = key === "" ? keys : nurses.filter((nurse) => nurse === key).length;
  }
}

// ---- motion: each row travels from where it was to where it is ----

function isInSight(row) {
  return row.offsetParent !== null; // neither folded away nor on another page of the wall
}

export function placesOfRows() {
  const rows = [...document.querySelectorAll("#board .row")].filter(isInSight);
  return new Map(rows.map((row) => [row.id, row.getBoundingClientRect().top]));
}

export function travelFrom(places) {
  if (still.matches) return;
  for (const row of document.querySelectorAll("#board .row")) {
    const before = places.get(row.id);
    if (before === undefined || !isInSight(row)) continue;
    const distance = before - row.getBoundingClientRect().top;
    if (Math.abs(distance) > 2) travel(row, distance);
  }
}

function travel(row, distance) {
  const rises = distance > row.offsetHeight;
  row.classList.toggle("is-rising", rises);
  const steps = [{ transform: `translateY(${distance}px)` }, { transform: "none" }];
  const motion = row.animate(steps, { duration: TRAVEL, easing: "cubic-bezier(0.3, 0, 0.1, 1)" });
  motion.onfinish = motion.oncancel = () => row.classList.remove("is-rising");
}
