"""What a ward's own records say of how long its work takes."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.policy import Policy
from server.domain.workload.learnt import Learnt, Timed, learn, recorded_of
from server.services.actor import Actor
from server.services.enter_ward import read_ward, read_ward_policy
from server.services.permissions import Act, require
from server.services.sound_cases import sound_pictures
from server.services.ward_day import day_at, ward_day
from server.store.ended_units import ended_episode_ids
from server.store.sessions import ReadSession
from server.store.wards import Ward

BEHIND: Final = timedelta(days=90)
"""How far back a ward is asked: a quarter of a year. Older units tell of other people, another
rota, another way to the blood bank."""
MOST_UNITS: Final = 100
"""How many units are read, the latest first. Five times what the common policy calls enough: more
hardly move a median, and each is folded anew whenever somebody looks at a plan that uses it."""


def read_learnt(
    session: ReadSession, actor: Actor, ward_id: str, *, now: datetime
) -> Mapping[Timed, Learnt]:
    """Answer what a ward's records say of each stretch. Raises `NotFound`, `Forbidden`."""
    require(actor, Act.READ, ward_id)
    ward, policy = read_ward(session, actor, ward_id), read_ward_policy(session, ward_id, now=now)
    return learnt_of(session, ward, policy, now=now)


def learnt_of(
    session: ReadSession,
    ward: Ward,
    policy: Policy,
    *,
    now: datetime,
    at: datetime | None = None,
) -> Mapping[Timed, Learnt]:
    """Answer the same of a ward that was read already; `at` as it was known at another instant.

    Units that ended before today count: what a plan is made with holds for a day of the ward, and
    does not change under it with each unit that ends.
    """
    instant = at or now
    zone = ZoneInfo(ward.timezone)
    until = ward_day(day_at(instant, zone), zone).from_at
    ids = ended_episode_ids(session, ward.id, until - BEHIND, until, most=MOST_UNITS)
    looked = sound_pictures(session, ids, now=now, at=at, known_at=at)
    return learn((recorded_of(one) for one in looked.values()), policy)
