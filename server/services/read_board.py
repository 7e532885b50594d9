"""The board: every unit of a ward in order of urgency, as it stands or stood at an instant."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from server.domain.picture import Picture, picture
from server.domain.request import Request
from server.domain.words import Level
from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.services.sound_cases import follow_soundly, sound_cases
from server.store.board import live_episode_ids
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.wards import Ward


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One unit on the board, with the name of its nurse where it is known."""

    picture: Picture
    nurse_name: str | None


@dataclass(frozen=True, slots=True)
class Board:
    """A ward's board at `at`; `checked_at` is the last successful tick.

    `spoilt` are units whose facts cannot be read: they have no row, and must not be forgotten.
    """

    at: datetime
    ward: Ward
    checked_at: datetime | None
    revision: int
    counts: Mapping[Level, int]
    rows: tuple[BoardRow, ...]
    spoilt: tuple[Request, ...] = ()


def read_board(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> Board:
    """Answer the board now, or as of `at`, or as it was known at `known_at`.

    Raises `NotFound`, `Forbidden`.
    """
    ward = read_ward(session, actor, ward_id)
    rows, spoilt = _looked_at(session, ward_id, now=now, at=at, known_at=known_at)
    return replace(make_board(session, ward, rows, at=at or now), spoilt=spoilt)


def pictures_of_ward(
    session: ReadSession,
    ward_id: str,
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> list[Picture]:
    """Answer every unit that is on the board at the instant, in no order; none that is spoilt."""
    return _looked_at(session, ward_id, now=now, at=at, known_at=known_at)[0]


def _looked_at(
    session: ReadSession,
    ward_id: str,
    *,
    now: datetime,
    at: datetime | None,
    known_at: datetime | None,
) -> tuple[list[Picture], tuple[Request, ...]]:
    instant = at or now
    ids = live_episode_ids(session, ward_id, instant, known_at=known_at)
    found = sound_cases(session, ids, now=instant, at=at, known_at=known_at)
    known = [case.known(at=at, known_at=known_at) for case in found.cases.values()]
    looked = follow_soundly(known, lambda case: picture(case, instant))
    lost = (case.request for case in known if case.request.id not in looked)
    return [one for one in looked.values() if is_on_board(one, instant)], (*found.spoilt, *lost)


def is_on_board(looked: Picture, instant: datetime) -> bool:
    """Whether the unit has not left the board by the instant."""
    return looked.open_until is None or instant < looked.open_until


def make_board(
    session: ReadSession, ward: Ward, looked: Iterable[Picture], *, at: datetime
) -> Board:
    """Put pictures in order, and name their nurses."""
    ordered = sorted(looked, key=lambda one: one.sort_key)
    nurses = {one.episode.nurse_id for one in ordered}
    names = staff_names(session, (nurse_id for nurse_id in nurses if nurse_id is not None))
    rows = tuple(BoardRow(one, names.get(one.episode.nurse_id or "")) for one in ordered)
    return board_of(ward, rows, (one.urgency.level for one in ordered), at=at)


def board_of(
    ward: Ward, rows: tuple[BoardRow, ...], levels: Iterable[Level], *, at: datetime
) -> Board:
    """Answer the board of rows that stand in their order, with the levels they are in."""
    counted = Counter(levels)
    return Board(
        at=at,
        ward=ward,
        checked_at=ward.checked_at,
        revision=ward.revision,
        counts={level: counted[level] for level in Level},
        rows=rows,
    )
