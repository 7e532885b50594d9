"""A scanner that types: real key events, as close together or as far apart as a test says."""

from time import monotonic
from typing import Any, Final

from playwright.sync_api import CDPSession, Page

SCANNER_MS: Final = 6
HAND_MS: Final = 130
# On a busy machine keys take longer to arrive than they say. The page counts silence by its own
# clock, so that they must not fall behind it; up to `CLOSE_MS` they are still a scanner's.
LAG_MS: Final = 30
CLOSE_MS: Final = 40
_CODES: Final = {"Enter": (13, "\r"), "Tab": (9, ""), " ": (32, " ")}


SLOWEST_MS: Final = 150
"""A key that comes later than that after the one before it is near the silence that ends a read."""


class TooSlow(Exception):
    """The machine did not get the keys across as a scanner does: nothing was tried."""


class Wedge:
    """Keys for one page, each with the time it was pressed at: a busy machine changes nothing."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._session: CDPSession = page.context.new_cdp_session(page)

    def read(self, text: str, *ends: str, gap_ms: float = SCANNER_MS, stuck_ms: float = 0) -> None:
        """Type a text key by key, and after it the terminators; `stuck_ms` after its half."""
        at: float = self._page.evaluate("Date.now()")
        begun, said, slowest = monotonic(), at, 0.0
        for place, key in enumerate([*text, *ends]):
            late = stuck_ms if place > len(text) // 2 else 0
            passed = at + (monotonic() - begun) * 1000 - LAG_MS
            said = max(at + place * gap_ms + late, min(passed, said + CLOSE_MS))
            pressed = monotonic()
            self._press(key, said / 1000)
            slowest = max(slowest, (monotonic() - pressed) * 1000)
        if slowest > SLOWEST_MS:
            raise TooSlow(f"a key took {slowest:.0f} ms")

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
