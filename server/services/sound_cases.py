"""Units of which some may be unreadable: all others are answered, and those are named.

Unreadable is a unit whose facts cannot be read or cannot be followed. Why one is stands in the log
of the tick, which tries it again every half minute.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any, TypeVar

from server.domain.picture import Case, Picture, picture
from server.domain.request import DamagedRequest, Request
from server.services.cases import cases_of
from server.services.unreadable import notice
from server.store.asked import in_parts, whole_or
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
    """Answer the cases of these units, `as_of` as `cases_of` takes it. Raises `Away`."""
    requests = read_requests(session, episode_ids)
    cases = read_soundly(requests, partial(cases_of, session, now=now, **as_of))
    return Sound(cases, tuple(one for one in requests.values() if one.id not in cases))


def sound_pictures(
    session: ReadSession,
    episode_ids: Iterable[str],
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> dict[str, Picture]:
    """Answer these units as they stand `now`, or stood or were known, by id. Raises `Away`."""
    instant = at or now
    found = sound_cases(session, episode_ids, now=instant, at=at, known_at=known_at)
    known = (case if at is None else case.known(at=at) for case in found.cases.values())
    return follow_soundly(known, lambda case: picture(case, instant))


def sound_picture(case: Case, now: datetime) -> Picture | None:
    """Answer the picture of a case, None where its facts can be read and yet not be followed."""
    return follow_soundly([case], lambda one: picture(one, now)).get(case.request.id)


def follow_soundly(cases: Iterable[Case], follow: Callable[[Case], Read]) -> dict[str, Read]:
    """Answer what `follow` makes of cases, by id, without those for which it cannot.

    Raises `Away`.
    """
    followed = {case.request: or_none(partial(follow, case)) for case in cases}
    notice(request for request, one in followed.items() if one is None)
    return {request.id: one for request, one in followed.items() if one is not None}


def read_soundly(
    requests: Mapping[str, Request],
    read: Callable[[Mapping[str, Request]], Mapping[str, Read]],
) -> dict[str, Read]:
    """Answer what `read` does for units, without those for which it cannot. Raises `Away`.

    It is asked for all at once, and for ever smaller parts where something in them is spoilt: of a
    thousand units one costs twenty questions more. Of a damaged request nothing needs to be asked.
    """
    whole = [i for i, request in requests.items() if not isinstance(request, DamagedRequest)]

    def read_some(ids: Sequence[str]) -> Mapping[str, Read]:
        return read({i: requests[i] for i in ids})

    found = in_parts(whole, read_some, lambda _: None)
    notice(request for i, request in requests.items() if i not in found)
    return found


def or_none(read: Callable[[], Read]) -> Read | None:
    """Answer what `read` does, None where something that is stored is wrong. Raises `Away`."""
    return whole_or(read, lambda: None)
