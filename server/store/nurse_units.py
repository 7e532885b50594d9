"""The units that nurses have under way, found by the row that is worked out of each."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from sqlalchemy import and_, or_, select

from server.domain.words import Phase
from server.store.sessions import ReadSession
from server.store.tables import EPISODE_STATE

_STATE: Final = EPISODE_STATE.c
_AHEAD: Final = (Phase.REQUESTED, Phase.AVAILABLE)
_UNDER_WAY: Final = (Phase.ISSUED, Phase.RUNNING, Phase.PAUSED, Phase.ENDED)


def units_of_nurses(
    session: ReadSession, ward_ids: Iterable[str], nurse_ids: Iterable[str], at: datetime
) -> tuple[str, ...]:
    """The ids of the units on these wards that these nurses have and that are not off the board."""
    theirs = and_(
        _STATE.ward_id.in_(sorted(set(ward_ids))), _STATE.nurse_id.in_(sorted(set(nurse_ids)))
    )
    open_still = or_(_STATE.open_until.is_(None), _STATE.open_until > at)
    listed = select(_STATE.episode_id).where(theirs, open_still).order_by(_STATE.episode_id)
    return tuple(row[0] for row in session.rows(listed))


def units_of_patient(
    session: ReadSession, ward_id: str, patient_id: str
) -> tuple[tuple[str, str | None], ...]:
    """The id and the nurse of each unit of a patient on a ward whose fate is not recorded."""
    phases = [phase.value for phase in (*_AHEAD, *_UNDER_WAY)]
    listed = select(_STATE.episode_id, _STATE.nurse_id).where(
        _STATE.ward_id == ward_id, _STATE.patient_id == patient_id, _STATE.phase.in_(phases)
    )
    return tuple((row[0], row[1]) for row in session.rows(listed.order_by(_STATE.episode_id)))


def nurses_with_units(session: ReadSession, ward_id: str) -> tuple[str, ...]:
    """The nurses who have a unit on a ward that was issued and whose fate is not recorded."""
    phases = [phase.value for phase in _UNDER_WAY]
    listed = select(_STATE.nurse_id).where(
        _STATE.ward_id == ward_id, _STATE.nurse_id.is_not(None), _STATE.phase.in_(phases)
    )
    return tuple(row[0] for row in session.rows(listed.distinct().order_by(_STATE.nurse_id)))
