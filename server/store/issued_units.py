"""Which bag each episode holds: derived, and what keeps one bag from two patients."""

from collections.abc import Iterable, Mapping
from typing import Final

from sqlalchemy import bindparam, delete, select

from server.domain.issued_units import IssuedUnit
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, upsert, values_of
from server.store.tables import ISSUED_UNIT

_UNITS: Final = select(*columns_for(ISSUED_UNIT, IssuedUnit))
_OF_EPISODES: Final = _UNITS.where(one_of(ISSUED_UNIT.c.episode_id))
_OF_NUMBER: Final = _UNITS.where(ISSUED_UNIT.c.number == bindparam("wanted")).order_by(
    ISSUED_UNIT.c.episode_id
)
_REMOVAL: Final = delete(ISSUED_UNIT).where(ISSUED_UNIT.c.episode_id == bindparam("of_episode"))


def save_issued_units(session: WriteSession, units: Mapping[str, IssuedUnit | None]) -> None:
    """Make these the bags that the named episodes hold; None: it holds none."""
    held = [values_of(unit) for unit in units.values() if unit is not None]
    gone = [{"of_episode": episode_id} for episode_id, unit in units.items() if unit is None]
    session.run(_REMOVAL, gone)
    session.run(upsert(session.engine_name, ISSUED_UNIT.name), held)


def read_issued_units(session: ReadSession, episode_ids: Iterable[str]) -> dict[str, IssuedUnit]:
    """The bags of these episodes, by episode id; one query for every 500."""
    found: dict[str, IssuedUnit] = {}
    for chunk in in_chunks(sorted(set(episode_ids))):
        for row in session.rows(_OF_EPISODES, {IDS: chunk}):
            found[row.episode_id] = IssuedUnit(*row)
    return found


def units_of_number(session: ReadSession, number: str) -> tuple[IssuedUnit, ...]:
    """The bags of all episodes that bear a number, whatever their product and division."""
    return tuple(IssuedUnit(*row) for row in session.rows(_OF_NUMBER, {"wanted": number}))
