"""Cases of units of which one may be spoilt: all others are answered, and it is named.

Why one is spoilt stands in the log of the tick, which tries it again every half minute.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any, TypeVar

from server.domain.picture import Case, Picture, picture
from server.domain.request import Request
from server.services.cases import cases_of
from server.store.errors import Away
from server.store.requests import read_requests
from server.store.sessions import ReadSession

Read = TypeVar("Read")


@dataclass(frozen=True, slots=True)
class Sound:
    """The cases by episode id, and the requests of units whose facts cannot be read."""

    cases: dict[str, Case]
    spoilt: tuple[Request, ...] = ()


def sound_cases(
    session: ReadSession, episode_ids: Iterable[str], *, now: datetime, **as_of: Any
) -> Sound:
    """Answer the cases of these units, `as_of` as `load_cases` takes it. Raises `Away`."""
    requests = read_requests(session, episode_ids)
    cases = or_none(partial(cases_of, session, requests, now=now, **as_of))
    if cases is not None:
        return Sound(cases)
    cases = {}
    for request in requests.values():
        alone = {request.id: request}
        cases |= or_none(partial(cases_of, session, alone, now=now, **as_of)) or {}
    return Sound(cases, tuple(one for one in requests.values() if one.id not in cases))


def sound_picture(case: Case, now: datetime) -> Picture | None:
    """Answer the picture of a case, None where its facts can be read and yet not be followed."""
    return or_none(partial(picture, case, now))


def or_none(read: Callable[[], Read]) -> Read | None:
    """Answer what `read` does, None where something that is stored is wrong. Raises `Away`."""
    try:
        return read()
    except Away:
        raise
    except Exception:  # noqa: BLE001 - whatever is wrong with one unit, it is not to hide the others
        return None
