"""A scanner that types: real key events, as close together or as far apart as a test says."""

from typing import Any, Final

from playwright.sync_api import CDPSession, Page

SCANNER_MS: Final = 6
HAND_MS: Final = 130
_CODES: Final = {"Enter": (13, "\r"), "Tab": (9, ""), " ": (32, " ")}
# Until so many keys have come up again the page hears no silence: timers that are set meanwhile
# run from then on.
_HOLD_TIMERS: Final = """keys => {
  const [later, never] = [window.setTimeout, window.clearTimeout];
  const [held, running] = [new Map(), new Map()];
  let number = 0;
  window.setTimeout = (...asked) => {
    held.set(--number, asked);
    return number;
  };
  window.clearTimeout = (timer) => held.delete(timer) || never(running.get(timer) ?? timer);
  window.addEventListener("keyup", function letGo() {
    if (--keys) return;
    window.removeEventListener("keyup", letGo, true);
    window.setTimeout = later;
    for (const [timer, asked] of held) running.set(timer, later(...asked));
    held.clear();
  }, true);
  return Date.now();
}"""


def hold_timers(page: Page, *, keys: int) -> float:
    """Let no time pass for a page, as far as it counts any, until so many keys were pressed.

    Answers its present, in milliseconds.
    """
    now: float = page.evaluate(_HOLD_TIMERS, keys)
    return now


class Wedge:
    """Keys for one page, each with the time it was pressed at: a busy machine changes nothing."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._session: CDPSession = page.context.new_cdp_session(page)

    def read(self, text: str, *ends: str, gap_ms: float = SCANNER_MS, stuck_ms: float = 0) -> None:
        """Type a text key by key, and after it the terminators; `stuck_ms` after its half."""
        keys = [*text, *ends]
        at = hold_timers(self._page, keys=len(keys))
        for place, key in enumerate(keys):
            late = stuck_ms if place > len(text) // 2 else 0
            self._press(key, (at + place * gap_ms + late) / 1000)

    def by_hand(self, text: str, *ends: str) -> None:
        """Type as hands do."""
        self.read(text, *ends, gap_ms=HAND_MS)

    def _press(self, key: str, at: float) -> None:
        code, text = _CODES.get(key, (0, key))
        common: dict[str, Any] = {"key": key, "windowsVirtualKeyCode": code, "timestamp": at}
        kind = "keyDown" if text else "rawKeyDown"
        self._session.send(
            "Input.dispatchKeyEvent", {"type": kind, "text": text, "code": key, **common}
        )
        self._session.send("Input.dispatchKeyEvent", {"type": "keyUp", "code": key, **common})
