"""Which episodes can be on a ward's board at an instant, and which changed since a revision."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple

from sqlalchemy import ColumnElement, and_, bindparam, or_, select

from server.store.sessions import ReadSession
from server.store.statements import in_chunks
from server.store.tables import EPISODE_STATE

_STATE: Final = EPISODE_STATE.c


class Stamp(NamedTuple):
    """An episode, and the ward's revision at its last change."""

    episode_id: str
    change_revision: int


def live_episode_ids(
    session: ReadSession, ward_id: str, at: datetime, *, known_at: datetime | None = None
) -> tuple[str, ...]:
    """The episodes that can be on the board at `at`; with `known_at`, as was known then.

    Never too few, at times too many: what was recorded after `known_at` may have closed an
    episode that was open as far as one knew. Fold the facts to be sure.
    """
    begun = or_(_STATE.first_at.is_(None), _STATE.first_at <= at)
    wanted = and_(_STATE.ward_id == ward_id, begun, _still_open(at, known_at))
    if known_at is not None:
        wanted = and_(wanted, _STATE.recorded_at <= known_at)
    listed = select(_STATE.episode_id).where(wanted).order_by(_STATE.episode_id)
    return tuple(row[0] for row in session.rows(listed))


def begun_episode_ids(
    session: ReadSession, ward_id: str, at: datetime, *, known_at: datetime | None = None
) -> tuple[str, ...]:
    """Every episode of a ward that had begun by `at`, on the board or long off it."""
    begun = or_(_STATE.first_at.is_(None), _STATE.first_at <= at)
    wanted = and_(_STATE.ward_id == ward_id, begun)
    if known_at is not None:
        wanted = and_(wanted, _STATE.recorded_at <= known_at)
    listed = select(_STATE.episode_id).where(wanted).order_by(_STATE.episode_id)
    return tuple(row[0] for row in session.rows(listed))


def changed_since(session: ReadSession, ward_id: str, revision: int) -> tuple[Stamp, ...]:
    """The episodes of a ward that changed after a revision, the latest change last."""
    after = and_(_STATE.ward_id == ward_id, _STATE.change_revision > revision)
    listed = select(_STATE.episode_id, _STATE.change_revision).where(after)
    ordered = listed.order_by(_STATE.change_revision, _STATE.episode_id)
    return tuple(Stamp(*row) for row in session.rows(ordered))


class Moved(NamedTuple):
    """An episode that changed: when it will next change by time alone, and its revision."""

    episode_id: str
    next_change_at: datetime | None
    revision: int


_MOVED: Final = select(_STATE.episode_id, _STATE.next_change_at, _STATE.revision).where(
    _STATE.ward_id == bindparam("ward_id"), _STATE.change_revision > bindparam("revision")
)


def moved_since(session: ReadSession, ward_id: str, revision: int) -> tuple[Moved, ...]:
    """The episodes of a ward that changed after a revision, with their next change."""
    rows = session.rows(_MOVED, {"ward_id": ward_id, "revision": revision})
    return tuple(Moved(*row) for row in rows)


def next_changes(session: ReadSession, episode_ids: Iterable[str]) -> dict[str, datetime | None]:
    """When each of these episodes next changes by time alone, None: never."""
    wanted = select(_STATE.episode_id, _STATE.next_change_at)
    found: dict[str, datetime | None] = {}
    for chunk in in_chunks(sorted(set(episode_ids))):
        rows = session.rows(wanted.where(_STATE.episode_id.in_(chunk)))
        found |= {row[0]: row[1] for row in rows}
    return found


def open_episode_ids(
    session: ReadSession, patient_ids: Iterable[str], at: datetime
) -> tuple[str, ...]:
    """The episodes of these patients that are not off the board before `at`, in any ward."""
    theirs = _STATE.patient_id.in_(sorted(set(patient_ids)))
    wanted = and_(theirs, _still_open(at, None))
    listed = select(_STATE.episode_id).where(wanted).order_by(_STATE.episode_id)
    return tuple(row[0] for row in session.rows(listed))


def _still_open(at: datetime, known_at: datetime | None) -> ColumnElement[bool]:
    still_open = or_(_STATE.open_until.is_(None), _STATE.open_until > at)
    if known_at is None:
        return still_open
    return or_(still_open, _STATE.last_recorded_at > known_at)
