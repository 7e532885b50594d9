"""Who covers whom on a ward, and for whose units nobody is there."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from server.domain.clock import SECOND
from server.domain.cover import Cover, Gap, gaps
from server.services.actor import Actor
from server.services.enter_shift import LONGEST
from server.services.enter_ward import read_ward
from server.store.covers import breaks_between, covers_between
from server.store.nurse_units import nurses_with_units
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.wards import Ward


@dataclass(frozen=True, slots=True)
class Coverage:
    """The covers of a ward that are in force at `at` or begin within a day, and the gaps at `at`.

    `names` are those of everybody concerned, by staff id.
    """

    at: datetime
    ward: Ward
    covers: tuple[Cover, ...]
    gaps: tuple[Gap, ...]
    names: Mapping[str, str]


def read_coverage(session: ReadSession, actor: Actor, ward_id: str, *, now: datetime) -> Coverage:
    """Answer the coverage of a ward. Raises `NotFound`, `Forbidden`."""
    ward = read_ward(session, actor, ward_id)
    covers = covers_between(session, [ward_id], now, now + LONGEST)
    absences = breaks_between(session, ward_id, now, now + SECOND)
    found = gaps(nurses_with_units(session, ward_id), absences, covers, now)
    concerned = {one for cover in covers for one in (cover.covering_id, cover.covered_id)}
    concerned |= {one for gap in found for one in (gap.nurse_id, gap.answering_id)}
    return Coverage(now, ward, covers, found, staff_names(session, concerned))
