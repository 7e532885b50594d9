"""Which PINs are taken: long enough, and not among those that are guessed first."""

import re
from datetime import datetime
from itertools import pairwise
from typing import Final

from server.domain.errors import Invalid

SHORTEST: Final = 6
LONGEST: Final = 12
FEWEST_DIFFERENT: Final = 3

_DIGITS: Final = re.compile(r"[0-9]*")
_DAYS: Final = {6: ("%d%m%y", "%m%d%y", "%y%m%d"), 8: ("%d%m%Y", "%m%d%Y", "%Y%m%d")}
# Lines on the pad of a telephone and words that are keyed on it. Common practice, no source.
_COMMON: Final = frozenset({"147258", "159357", "159753", "258369", "741852", "789456", "852963"})


def require_pin(pin: str) -> None:
    """Raise `Invalid("pin", …)` for a PIN that is too short or easily guessed."""
    if not _DIGITS.fullmatch(pin) or not SHORTEST <= len(pin) <= LONGEST:
        raise Invalid("pin", f"expected {SHORTEST} to {LONGEST} digits")
    weakness = _weakness(pin)
    if weakness:
        raise Invalid("pin", f"{weakness}; choose digits that nobody guesses")


def _weakness(pin: str) -> str:
    if len(set(pin)) < FEWEST_DIFFERENT:
        return f"has fewer than {FEWEST_DIFFERENT} different digits"
    if len({(int(after) - int(before)) % 10 for before, after in pairwise(pin)}) == 1:
        return "counts in equal steps"
    if _repeats(pin):
        return "repeats itself"
    if any(_is_day(pin, form) for form in _DAYS.get(len(pin), ())):
        return "can be read as a date, such as a birthday"
    return "is one of those that are guessed first" if pin in _COMMON else ""


def _repeats(pin: str) -> bool:
    """Whether it is one part said several times over, there and back, or pairs of equal digits."""
    parts = (pin[:n] for n in range(1, len(pin) // 2 + 1) if len(pin) % n == 0)
    in_pairs = len(pin) % 2 == 0 and pin[::2] == pin[1::2]
    return (
        any(part * (len(pin) // len(part)) == pin for part in parts)
        or in_pairs
        or (pin == pin[::-1])
    )


def _is_day(pin: str, form: str) -> bool:
    try:
        datetime.strptime(pin, form)  # noqa: DTZ007 - a day, of no place
    except ValueError:
        return False
    return True
