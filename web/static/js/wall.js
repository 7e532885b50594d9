// A wall shows what fits and turns the page by itself. The most urgent rows stay on every page.

const TURN = 10000; // milliseconds
let page = 0;

function rowsOfWall() {
  return [...document.querySelectorAll("#rows > .row")];
}

function room() {
  const list = document.getElementById("rows");
  const foot = document.querySelector(".foot").offsetHeight;
  const free = window.innerHeight - foot - (list.getBoundingClientRect().top + window.scrollY);
  const height = Math.max(...rowsOfWall().map((row) => row.offsetHeight), 1);
  return Math.max(2, Math.floor(free / height));
}

// Which rows stay, and the others cut into pages.
function plan(rows, size) {
  const urgent = rows.filter((row) => row.matches(".high, .medium"));
  const kept = urgent.slice(0, Math.floor(size / 2));
  const others = rows.filter((row) => !kept.includes(row));
  const each = size - kept.length;
  const pages = [];
  for (let start = 0; start < others.length; start += each) pages.push(others.slice(start, start + each));
  return { kept, pages };
}

function lay() {
  const rows = rowsOfWall();
  const turn = document.getElementById("turn");
  for (const row of rows) row.hidden = false;
  if (rows.length === 0) return void (turn.hidden = true);
  const size = room();
  turn.hidden = rows.length <= size;
  if (turn.hidden) return;
  const { kept, pages } = plan(rows, size);
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
