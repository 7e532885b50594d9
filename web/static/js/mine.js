// My list: after each refresh it counts on, and says when refreshes no longer come.

import { count } from "./counting.js";
import { now, wallTime } from "./ward_clock.js";

const SILENCE = 25000; // two refreshes and a half
let heardAt = Date.now();
let isAway = false;

function show(text, id = "banner-lost") {
  const banner = document.getElementById(id);
  const words = banner.querySelector("span");
  if (words.textContent !== text) words.textContent = text;
  banner.hidden = !text;
}

document.addEventListener("htmx:after:swap", () => {
  heardAt = Date.now();
  show("");
  count();
});

// While the database is away no list comes: the one that is there is the last that was known.
document.addEventListener("ward:tick", ({ detail }) => {
  if (detail.away === isAway) return;
  isAway = detail.away;
  if (!isAway) document.getElementById("mine").dispatchEvent(new Event("ward:changed"));
  const known = wallTime(now() - (Date.now() - heardAt));
  const text = `The database is away. This is your list as it was known at ${known}. Nothing can be recorded; write on paper.`;
  show(isAway ? text : "", "banner-away");
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
  if (isAway || Date.now() - heardAt <= SILENCE) return;
  const since = wallTime(now() - (Date.now() - heardAt));
  show(`No connection since ${since}: times go on counting, entries by others may be missing.`);
}, 1000);
