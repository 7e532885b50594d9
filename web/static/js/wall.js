// A wall shows what fits and turns the page by itself. The most urgent rows stay on every page.

const TURN = 10000; // milliseconds
let page = 0;

function rowsOfWall() {
  return [...document.querySelectorAll("#rows > .row")];
}

function room() {
  const list = document.getElementById("rows");
  const foot = document.querySelector(".foot").offsetHeight;
  return window.innerHeight - foot - (list.getBoundingClientRect().top + window.scrollY);
}

// As many of the rows, from the first, as fit a height; at least one of them.
function fitting(rows, height) {
  let used = 0;
  const last = rows.findIndex((row) => (used += row.offsetHeight) > height);
  return last < 0 ? rows : rows.slice(0, Math.max(1, last));
}

// Which rows stay, up to half of the room, and the others cut into pages.
function plan(rows, height) {
  const urgent = rows.filter((row) => row.matches(".high, .medium"));
  const kept = fitting(urgent, height / 2);
  const rest = height - kept.reduce((sum, row) => sum + row.offsetHeight, 0);
  let others = rows.filter((row) => !kept.includes(row));
  const pages = [];
  while (others.length > 0) {
    pages.push(fitting(others, rest));
    others = others.slice(pages.at(-1).length);
  }
  return { kept, pages };
}

function lay() {
  const rows = rowsOfWall();
  const turn = document.getElementById("turn");
  for (const row of rows) row.hidden = false;
  turn.hidden = rows.length === 0 || fitting(rows, room()).length === rows.length;
  if (turn.hidden) return;
  const { kept, pages } = plan(rows, room());
  page %= pages.length;
  const shown = new Set([...kept, ...pages[page]]);
  for (const row of rows) row.hidden = !shown.has(row);
  say(turn, kept.length, pages, rows.length);
}

function say(turn, kept, pages, all) {
  const before = pages.slice(0, page).reduce((sum, rows) => sum + rows.length, kept);
  const last = before + pages[page].length;
  turn.replaceChildren(
    Object.assign(document.createElement("b"), { textContent: `Page ${page + 1} of ${pages.length}` }),
    document.createElement("br"),
    `units ${before + 1} to ${last} of ${all}`,
  );
}

document.addEventListener("board:settled", lay);
window.addEventListener("resize", lay);
document.fonts.ready.then(lay);
setInterval(() => {
  page += 1;
  lay();
}, TURN);
