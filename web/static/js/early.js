// A scanner does not wait for a page: keys that come before its scripts are kept, with where they
// were typed, and scan.js reads them as soon as everything listens. Runs before the page is drawn.

(() => {
  const FAST = 60; // ms between two keys of a scanner, as in scan.js
  const SHORTEST = 5; // characters
  const keys = [];

  // Where a key is typed, and what stood there before it.
  function placeOf() {
    const place = document.activeElement ?? document.documentElement;
    return { place, value: place.value, start: place.selectionStart ?? null, end: place.selectionEnd ?? null };
  }

  // The end of a fast read must not send the form it was typed into half-way.
  function endsRead(event) {
    if (event.key !== "Enter" && event.key !== "Tab") return false;
    const last = [...keys, { event }].slice(-SHORTEST - 1).map((one) => one.event.timeStamp);
    return last.length > SHORTEST && last.every((at, place) => place === 0 || at - last[place - 1] <= FAST);
  }

  function keep(event) {
    if (endsRead(event)) event.preventDefault();
    keys.push({ event, ...placeOf() });
  }

  function take() {
    document.removeEventListener("keydown", keep, true);
    return keys.splice(0);
  }

  document.addEventListener("keydown", keep, true);
  window.early = { placeOf, take };
})();
