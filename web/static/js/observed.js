// The form of vital signs: a temperature gets its point, a finished number leads on to the next.

const SIGN = ".observed [data-most]";

function most(input) {
  const bound = Number(input.dataset.most);
  return input.dataset.unit === "°F" ? (bound * 9) / 5 + 32 : bound;
}

const isTemperature = (input) => input.dataset.unit.startsWith("°");

// "368" can only be 36.8: the point goes where a number that is possible has it.
function setPoint(input) {
  const { value } = input;
  if (!/^\d{3,4}$/.test(value) || Number(value) <= most(input) || Number(value) / 10 > most(input)) return;
  input.value = `${value.slice(0, -1)}.${value.slice(-1)}`;
}

// Finished: possible, and whatever digit came next, the number would be impossible.
function isFinished(input) {
  const value = input.value.replace(",", ".");
  if (Number(value) > most(input)) return false;
  if (isTemperature(input)) return /^\d{2,3}\.\d$/.test(value);
  return /^\d+$/.test(value) && Number(`${value}0`) > most(input);
}

let led = null; // where the focus was led to last, and when
const HABIT = 1200; // milliseconds in which a key still belongs to the number before

// Who goes on by Tab or Enter out of habit, just after being led on, must not skip a sign.
function isHabit(event) {
  const was = led;
  led = null;
  const isFresh = event.target.type === "radio" || !event.target.value;
  return was?.to === event.target && isFresh && performance.now() - was.at < HABIT;
}

function lead(to) {
  to.focus();
  led = { to, at: performance.now() };
}

// On to the next place that is empty; a number that is corrected keeps the focus.
function leadOn(input) {
  const signs = [...input.form.querySelectorAll("[data-most]")];
  const next = signs[signs.indexOf(input) + 1];
  if (next) {
    if (!next.value) lead(next);
    return;
  }
  const tiles = input.form.querySelector(".tiles");
  if (tiles && !tiles.querySelector(":checked:not([value=''])")) lead(tiles.querySelector("input"));
}

document.addEventListener("input", (event) => {
  const input = event.target;
  if (!input.matches?.(SIGN) || !event.inputType?.startsWith("insert")) return;
  if (input.selectionStart !== input.value.length) return;
  if (isTemperature(input)) setPoint(input);
  if (isFinished(input)) leadOn(input);
});

// Enter moves on through the numbers: a scanner or a hasty thumb does not record half a set.
document.addEventListener("keydown", (event) => {
  const input = event.target;
  if (!input.closest?.(".observed") || !["Enter", "Tab"].includes(event.key) || event.shiftKey) return;
  if (isHabit(event)) return event.preventDefault();
  if (event.key === "Tab" || !input.matches(SIGN)) return;
  const empty = [...input.form.querySelectorAll("[data-most]")].find((one) => !one.value && one !== input);
  if (!empty) return;
  event.preventDefault();
  empty.focus();
});

for (const button of document.querySelectorAll("[data-now]")) button.hidden = false;
document.addEventListener("htmx:after:swap", () => {
  for (const button of document.querySelectorAll("[data-now]")) button.hidden = false;
});
