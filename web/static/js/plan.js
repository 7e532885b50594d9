// The plan by hand: arrow keys in the time, and a grip on the axis that can be dragged or moved by
// keys. Both fill in the form that is there without them, and send it.

const SETTLE = 700; // milliseconds after the last key before what was moved is shown

const sheet = () => document.getElementById("plan");
const form = () => document.getElementById("hand");
const version = () => form().elements.version.value;
const step = () => Number(sheet().dataset.grid);
let waiting = 0;

// ---- a time and its date as the fields hold them ----

function minutesOf(clock) {
  const found = /^(\d{1,2})[:.h]?(\d\d)$/.exec(clock.trim());
  return found ? Number(found[1]) * 60 + Number(found[2]) : null;
}

function moveBy(minutes) {
  const { check_at_time: clock, check_at_date: day } = form().elements;
  const at = minutesOf(clock.value);
  if (at === null) return;
  const moved = at + minutes;
  clock.value = wall(((moved % 1440) + 1440) % 1440);
  if (moved < 0 || moved >= 1440) day.value = dayAfter(day.value, moved < 0 ? -1 : 1);
}

function wall(minutes) {
  return [Math.floor(minutes / 60), minutes % 60].map((part) => String(part).padStart(2, "0")).join(":");
}

function dayAfter(day, days) {
  const at = new Date(`${day}T12:00:00Z`);
  at.setUTCDate(at.getUTCDate() + days);
  return at.toISOString().slice(0, 10);
}

function send() {
  clearTimeout(waiting);
  form()?.requestSubmit(form().querySelector("[value=move]"));
}

function sendSoon() {
  clearTimeout(waiting);
  waiting = setTimeout(send, SETTLE);
}

// ---- keys ----

const KEYS = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 };

document.addEventListener("keydown", (event) => {
  const inTime = event.target.name === "check_at_time";
  const onGrip = event.target.classList?.contains("grip");
  if (!(inTime || onGrip) || !(event.key in KEYS) || event.ctrlKey || event.altKey || event.metaKey) return;
  if (inTime && event.key.match(/Left|Right/)) return; // these move the cursor
  event.preventDefault();
  moveBy(KEYS[event.key] * step());
  if (onGrip) place();
  sendSoon();
});

// ---- the grip on the axis ----

function span() {
  const { from, to } = sheet().dataset;
  return (Date.parse(to) - Date.parse(from)) / 60000;
}

let origin = null; // where the check stood when the form was opened: per cent of the axis, minutes

function place() {
  const grip = document.querySelector(".grip");
  if (!grip || !origin) return;
  const moved = minutesSince();
  grip.style.left = `${origin.x + (100 * moved) / span()}%`;
  grip.setAttribute("aria-valuetext", form().elements.check_at_time.value);
  grip.setAttribute("aria-valuenow", String(minutesOf(form().elements.check_at_time.value) ?? 0));
}

function minutesSince() {
  const { check_at_time: clock, check_at_date: day } = form().elements;
  const days = (Date.parse(day.value) - Date.parse(origin.day)) / 60000;
  return days + (minutesOf(clock.value) ?? origin.minutes) - origin.minutes;
}

function hold() {
  document.querySelector(".grip")?.remove();
  const bar = document.querySelector(".plan-unit.selected .leg.check");
  if (!form() || !bar) return;
  const { check_at_time: clock, check_at_date: day } = form().elements;
  origin = { x: parseFloat(bar.getAttribute("x")), minutes: minutesOf(clock.value), day: day.value };
  const grip = document.createElement("div");
  grip.className = "grip";
  grip.dataset.of = version();
  grip.tabIndex = 0;
  grip.setAttribute("role", "slider");
  grip.setAttribute("aria-label", "Check begins");
  grip.setAttribute("aria-valuemin", "0");
  grip.setAttribute("aria-valuemax", "1439");
  bar.closest(".track").append(grip);
  place();
  grip.addEventListener("pointerdown", drag);
}

function drag(event) {
  const grip = event.currentTarget;
  const width = grip.closest(".track").clientWidth;
  let done = 0;
  event.preventDefault();
  grip.focus();
  grip.setPointerCapture(event.pointerId);
  const follow = (move) => {
    const steps = Math.round((((move.clientX - event.clientX) / width) * span()) / step());
    moveBy((steps - done) * step());
    done = steps;
    place();
  };
  grip.addEventListener("pointermove", follow);
  const letGo = () => {
    grip.removeEventListener("pointermove", follow);
    if (done) send();
  };
  grip.addEventListener("pointerup", letGo, { once: true });
  grip.addEventListener("pointercancel", letGo, { once: true });
}

// ---- an answer in place: the address is that of the version shown, and the grip keeps the keys ----

let held = false;

document.addEventListener("htmx:before:swap", () => {
  held = document.activeElement?.classList.contains("grip") ?? false;
});

document.addEventListener("htmx:after:swap", () => {
  if (!form() || document.querySelector(".plan-unit.selected .grip")?.dataset.of === version()) return;
  const unit = encodeURIComponent(form().elements.episode_id.value);
  history.replaceState(null, "", `${sheet().dataset.here}&unit=${unit}`);
  hold();
  if (held) document.querySelector(".grip")?.focus();
});

// ---- what others record meanwhile: said, and looked at when the reader wants to ----

const changed = document.getElementById("plan-changed");
if (changed) {
  new EventSource(changed.dataset.wardChanges).addEventListener("changed", () => {
    changed.querySelector("a").href = location.href;
    changed.hidden = false;
  });
}

document.addEventListener("form:answered", hold);
hold();
