// The server's clock and the ward's wall time, for everything that counts on between updates.

const body = document.body;
const MINUTE = 60000;

// Once per page: what the server's clock said when the first byte of the page came in.
const [load] = performance.getEntriesByType("navigation");
const firstByte = performance.timeOrigin + (load?.responseStart ?? performance.now());
let offset = Date.parse(body.dataset.now) - firstByte;

const wall = wallFormat(body.dataset.zone);

function wallFormat(zone) {
  const shape = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  try {
    return new Intl.DateTimeFormat("en-GB", { ...shape, timeZone: zone });
  } catch {
    return null; // a zone this browser does not know: leave the server's texts alone
  }
}

export function now() {
  return Date.now() + offset;
}

// A computer that slept or had its clock put right is brought back by the next tick.
export function correct(serverNow) {
  if (Math.abs(serverNow - now()) > 2000) offset = serverNow - Date.now();
}

export function wallTime(instant) {
  return wall ? wall.format(instant) : null;
}

// Minutes from one wall-clock minute to another, as the server counts them.
export function wholeMinutes(start, end) {
  return Math.floor(end / MINUTE) - Math.floor(start / MINUTE);
}

export function span(minutes) {
  const size = Math.abs(minutes);
  const two = (n) => String(n).padStart(2, "0");
  if (size < 60) return `${size} min`;
  if (size < 2880) return `${Math.floor(size / 60)} h ${two(size % 60)}`;
  return `${Math.floor(size / 1440)} d ${Math.floor((size % 1440) / 60)} h`;
}
