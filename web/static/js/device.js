// What this device remembers of how its person wants to be called: three switches, and which
// reminders were called by this browser. Tags stand for reminders and tell nothing of a patient.

const MOST = 300;
const BY_DEFAULT = { sound: "on", number_pad: "on" };
const fallback = {}; // a browser that keeps nothing: until the page is left

function read(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return fallback[name] ?? null;
  }
}

function write(name, value) {
  fallback[name] = value;
  try {
    localStorage.setItem(name, value);
  } catch {
    // Then it holds until the page is left.
  }
}

export function isOn(name) {
  return (read(name) ?? BY_DEFAULT[name]) === "on";
}

export function turn(name, on) {
  write(name, on ? "on" : "off");
}

// The tags that no page of this browser has called in this way before; from now on they count as called.
export async function claim(way, tags) {
  return alone(() => {
    const called = (read("called") ?? "").split(" ").filter(Boolean);
    const fresh = tags.filter((tag) => !called.includes(`${way}:${tag}`));
    if (fresh.length) write("called", [...called, ...fresh.map((tag) => `${way}:${tag}`)].slice(-MOST).join(" "));
    return fresh;
  });
}

// What is gone counts as called no longer: a clock that was put right may bring it back at its time.
export async function release(tags) {
  return alone(() => {
    const called = (read("called") ?? "").split(" ").filter(Boolean);
    const kept = called.filter((one) => !tags.includes(one.slice(one.indexOf(":") + 1)));
    if (kept.length < called.length) write("called", kept.join(" "));
  });
}

// One page at a time, where the browser has locks: without them two may call at once, never none.
function alone(act) {
  return navigator.locks ? navigator.locks.request("called", act) : act();
}
