"""What the tables of an export are narrowed to besides their days, in words."""

from typing import Final

from server.pages.breach_pages.filters import (
    CLOCKS,
    COMPONENTS,
    HOURS,
    PARTS,
    WEEKDAYS,
    shift_words,
)
from server.pages.forms.entry import Entry

_CHOSEN: Final = {
    "clock": ("limit", dict(CLOCKS)),
    "component": ("component", dict(COMPONENTS)),
    "weekday": ("weekday", dict(WEEKDAYS)),
    "hour": ("hour of the limit", dict(HOURS)),
    "part": ("part of the day", dict(PARTS)),
    "show": ("those that are", {"open": "open", "explained": "explained"}),
}
FILTERS: Final = (*_CHOSEN, "shift", "by")
"""What else the page may have been narrowed to that leads here."""


def filter_words(asked: Entry) -> tuple[str, ...]:
    """Answer what breaches are narrowed to besides their days: `limit: First check`."""
    words = [
        f"{label}: {options[asked.raw(name)]}"
        for name, (label, options) in _CHOSEN.items()
        if asked.raw(name) in options
    ]
    shift = asked.raw("shift")
    return (*words, *([f"shift of the unit’s nurse: {shift_words(shift)}"] if shift else []))
