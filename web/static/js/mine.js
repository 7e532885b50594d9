// My list: after each refresh it counts on, and says when refreshes no longer come.

import { count } from "./counting.js";
import { now, wallTime } from "./ward_clock.js";

const SILENCE = 25000; // two refreshes and a half
let heardAt = Date.now();

function show(text) {
  const banner = document.getElementById("banner-lost");
  const words = banner.querySelector("span");
  if (words.textContent !== text) words.textContent = text;
  banner.hidden = !text;
}

document.addEventListener("htmx:after:swap", () => {
  heardAt = Date.now();
  show("");
  count();
});

// A session that is over, or a list that is no longer to be seen: the page itself says so.
document.addEventListener("htmx:before:response", (event) => {
  const { ctx } = event.detail;
  if (ctx.sourceElement?.id !== "mine") return;
  if (ctx.response.status < 400) return;
  event.preventDefault();
  if ([401, 403, 404].includes(ctx.response.status)) location.reload();
});

setInterval(() => {
  if (Date.now() - heardAt <= SILENCE) return;
  const since = wallTime(now() - (Date.now() - heardAt));
  show(`No connection since ${since}: times go on counting, entries by others may be missing.`);
}, 1000);
