"""A ward of 200 units in every phase, with its nurses, and the keys to it."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from server.domain.words import Role
from server.pages.visitors import COOKIE
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.rebuild import rebuild
from server.services.sign_in import sign_in
from server.services.tokens import make_token
from tests.benchmarks.records import ADMINISTRATOR, Unit, add_units, new_store
from tests.benchmarks.stories import CLOSED, ENDED, Story

WARD: Final = "w1"
NURSES: Final = tuple(f"n{number}" for number in range(1, 13))
UNITS: Final = 200
# Of every twenty: how many minutes ago the unit left storage, None if it has not been issued.
AGES: Final = (
    3,
    9,
    16,
    25,
    34,
    47,
    58,
    66,
    74,
    83,
    95,
    104,
    118,
    131,
    147,
    162,
    240,
    400,
    None,
    None,
)


@dataclass(frozen=True, slots=True)
class Keys:
    """What opens the ward: the header of a signed-in charge nurse, and that of a program."""

    cookie: dict[str, str]
    bearer: dict[str, str]
    running: tuple[str, ...]


def make_ward(file: Path, now: datetime, units: int = UNITS) -> Keys:
    """Make the database, and answer its keys with the ids of units that run now."""
    store = new_store(file, [WARD], now)
    with store.write() as session:
        charge, *_ = [enter_staff(session, ADMINISTRATOR, _nurse(one), now=now) for one in NURSES]
        secret = sign_in(session, charge, now=now).secret
        token = make_token(session, "benchmark", Role.INTERFACE, None, now=now)
    listed = [_unit(number, now) for number in range(units)]
    add_units(store, listed)
    rebuild(store, lambda: now)
    store.close()
    running = tuple(unit.id for unit in listed if _runs(unit, now))
    return Keys({"Cookie": f"{COOKIE}={secret}"}, {"Authorization": f"Bearer {token}"}, running)


def _nurse(nurse_id: str) -> StaffDraft:
    role = Role.CHARGE_NURSE if nurse_id == NURSES[0] else Role.BEDSIDE_NURSE
    return StaffDraft(nurse_id, f"Nurse {nurse_id}", role, frozenset({WARD}))


LAST: Final = timedelta(minutes=170)


def _runs(unit: Unit, now: datetime) -> bool:
    return unit.story is ENDED and timedelta(minutes=15) < now - unit.begun < LAST


def _unit(number: int, now: datetime) -> Unit:
    age = AGES[number % len(AGES)]
    story: Story = () if age is None else CLOSED if age > 200 else ENDED
    begun = now - timedelta(minutes=60 if age is None else age, seconds=number * 37 % 60)
    nurse_id = NURSES[number % len(NURSES)] if number % 9 else None
    return Unit(
        f"e{number}",
        WARD,
        f"{number // 10 + 1}{'ABCDEFGHIJ'[number % 10]}",
        story,
        begun,
        now,
        nurse_id,
    )
