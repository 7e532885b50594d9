"""Units that cannot be read, as they are come upon while one question is answered.

Whoever asks for many units gets all the others, and would not know that one is missing. So each
is noticed here, and whoever answers a person or a program says which were left out.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

from server.domain.request import Request

_FOUND: Final[ContextVar[dict[str, Request]]] = ContextVar("unreadable_units")


@contextmanager
def noticing() -> Iterator[None]:
    """Notice what cannot be read in here, also in threads that are begun from here."""
    before = _FOUND.set({})
    try:
        yield
    finally:
        _FOUND.reset(before)


def notice(units: Iterable[Request]) -> None:
    """Take note of units that were left out; where nobody answers anybody it is for the log."""
    found = _FOUND.get(None)
    if found is not None:
        found |= {unit.id: unit for unit in units}


def noticed() -> tuple[Request, ...]:
    """Answer what was left out so far, each unit once."""
    return tuple(_FOUND.get({}).values())
