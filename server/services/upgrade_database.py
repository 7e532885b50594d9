"""Bring a database to the newest schema, and do what the steps of the schema leave over."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from server.domain.fold import fold
from server.domain.issued_units import issued_unit
from server.services.errors import Conflict
from server.services.rebuild import rebuild
from server.services.sound_cases import follow_soundly, sound_cases
from server.store.issued_units import save_issued_units
from server.store.migrate import migrate
from server.store.requests import episode_ids_after
from server.store.sessions import WriteSession
from server.store.store import Store
from server.store.upgrade_work import (
    DERIVED_ROWS,
    ISSUED_UNITS,
    MOVING,
    note_done,
    work_left,
)

BATCH: Final = 200
HALF_MOVED: Final = (
    "what was to be moved into this database has not arrived whole; run the same "
    "`fourth-hour migrate --to …` again"
)


def upgrade_database(store: Store, *, now: datetime) -> bool:
    """Upgrade; False if nothing was left to do. Raises what `migrate` raises.

    Raises `Conflict` for a database into which another was moved by half.
    What was broken off is done again at the next start: each piece of work bears being repeated.
    """
    changed = migrate(store)
    with store.read() as session:
        left = work_left(session)
    if MOVING in left:
        raise Conflict(HALF_MOVED)
    if ISSUED_UNITS in left:
        _fill_issued_units(store, now)
    if DERIVED_ROWS in left:
        _work_out_again(store, now)
    return changed or bool(left)


def _work_out_again(store: Store, now: datetime) -> None:
    """Fill the columns of derived rows that are younger than the rows."""
    rebuild(store, lambda: now)
    with store.write() as session:
        note_done(session, DERIVED_ROWS)


def _fill_issued_units(store: Store, now: datetime) -> None:
    """Keep which bag every episode holds, also those issued before there was a table for it."""
    last = ""
    while True:
        with store.write() as session:
            ids = episode_ids_after(session, last, limit=BATCH)
            _fill(session, ids, now)
            if len(ids) < BATCH:
                note_done(session, ISSUED_UNITS)
                return
        last = ids[-1]


def _fill(session: WriteSession, ids: Sequence[str], now: datetime) -> None:
    cases = sound_cases(session, ids, now=now).cases.values()
    folded = follow_soundly(cases, lambda case: fold(case.request, case.events))
    save_issued_units(session, {one: issued_unit(episode) for one, episode in folded.items()})
