// The slider of a replay: it and its keys ask for another second, and the answer is put in place.

const SETTLE = 60; // milliseconds after the last movement before the instant is asked for
const MINUTE = 60;
const KEYS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 60, PageDown: -60 };

const ground = () => document.getElementById("replay");
const slider = () => document.getElementById("replay-slider");
const form = () => document.getElementById("replay-form");
const seconds = (instant) => Math.floor(Date.parse(instant) / 1000);
const written = (at) => new Date(at * 1000).toISOString().replace(".000Z", "Z");

const wall = wallFormat(document.body.dataset.zone);
let waiting = 0;
let wanted = null; // the second that was moved to and is not shown yet

function wallFormat(zone) {
  const shape = { hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23", timeZoneName: "short" };
  try {
    return new Intl.DateTimeFormat("en-GB", { ...shape, timeZone: zone });
  } catch {
    return new Intl.DateTimeFormat("en-GB", { ...shape, timeZone: "UTC" });
  }
}

const present = () => wanted ?? seconds(ground().dataset.at);
const newest = () => seconds(document.body.dataset.now);

function ask() {
  clearTimeout(waiting);
  const at = form().elements.at;
  at.value = written(wanted);
  at.disabled = false;
  form().requestSubmit();
  at.disabled = true; // what is typed next goes before it again
}

// Beyond the ends of the slider one simply goes on: the answer brings the next stretch.
function moveTo(at) {
  wanted = Math.min(at, newest());
  show(wanted);
  clearTimeout(waiting);
  waiting = setTimeout(ask, SETTLE);
}

function show(at) {
  slider().value = String(at);
  slider().setAttribute("aria-valuetext", wall.format(at * 1000));
  document.getElementById("replay-shown").toggleAttribute("data-moving", wanted !== null);
}

document.addEventListener("input", (event) => {
  if (event.target.id === "replay-slider") moveTo(Number(event.target.value));
});

document.addEventListener("keydown", (event) => {
  if (event.target.id !== "replay-slider" || event.ctrlKey || event.altKey || event.metaKey) return;
  const ends = { Home: slider().min, End: slider().max };
  if (event.key in ends) moveTo(Number(ends[event.key]));
  else if (event.key in KEYS) moveTo(present() + KEYS[event.key] * MINUTE * (event.shiftKey && event.key.startsWith("Arrow") ? 10 : 1));
  else return;
  event.preventDefault();
});

document.addEventListener("htmx:after:swap", () => {
  if (!ground()) return;
  if (wanted !== null && wanted === seconds(ground().dataset.at)) wanted = null;
  history.replaceState(null, "", ground().dataset.here);
  if (slider()) show(present());
});

// Outside of what is replaced, so that the slider stands through every answer.
document.getElementById("main").classList.add("slides");
