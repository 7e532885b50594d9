"""A group of hospitals: wards with their units in every phase, nurses at their boards, programs."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from itertools import cycle, islice
from pathlib import Path
from typing import Any, Final

from server.domain.words import Role
from server.pages.visitors import COOKIE
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.rebuild import rebuild
from server.services.sign_in import sign_in
from server.services.tokens import make_token
from server.store.sessions import WriteSession
from tests.benchmarks.load.facts import Script, script_of
from tests.benchmarks.records import ADMINISTRATOR, Unit, add_units, multiply, new_store
from tests.benchmarks.stories import CLOSED, ENDED, Story

PROGRAMS: Final = 50
"""So many clients, each with a token of its own, record facts."""

COPIES: Final = 20  # of each closed unit that is told
# Minutes since each unit of a ward left storage; None: it was not issued yet.
AGES: Final = (None, None, 2, 5, 8, 11, *range(15, 172, 12), 176, 181, 186, 400, 800)


@dataclass(frozen=True, slots=True)
class Size:
    """How many wards there are, open boards and live units on each, closed units in all."""

    wards: int
    boards: int
    units: int = len(AGES)
    closed: int = 0

    @property
    def live(self) -> int:
        """The units on all boards."""
        return self.wards * self.units


@dataclass(frozen=True, slots=True)
class Ground:
    """What stands in a database, and the keys to it.

    `cookies` are those of the boards of each ward; `scripts` what there is to tell of each unit.
    """

    file: Path
    cookies: dict[str, tuple[str, ...]]
    tokens: tuple[str, ...]
    watching: str
    scripts: tuple[Script, ...]

    def told(self) -> dict[str, Any]:
        """What whoever gives the load has to know, as plain values."""
        scripts = [asdict(script) for script in self.scripts]
        return {"cookies": self.cookies, "tokens": self.tokens, "scripts": scripts}


def make_ground(file: Path, now: datetime, size: Size) -> Ground:
    """Make the database, with every unit worked out."""
    wards = [f"w{number}" for number in range(size.wards)]
    store = new_store(file, wards, now)
    with store.write() as session:
        cookies = {ward: _sign_in(session, ward, size.boards, now) for ward in wards}
        programs = [
            make_token(session, f"program {number}", Role.INTERFACE, None, now=now)
            for number in range(PROGRAMS)
        ]
        watching = make_token(session, "watching", Role.ADMINISTRATOR, None, now=now)
    live = [unit for place, ward in enumerate(wards) for unit in _live(ward, place, size, now)]
    closed = _closed(wards, size, now)
    add_units(store, [*live, *closed])
    rebuild(store, lambda: now)
    store.close()
    if closed:
        multiply(file, "closed-", COPIES - 1)
    scripts = tuple(script_of(unit) for unit in live)
    return Ground(file, cookies, tuple(programs), watching, scripts)


def _sign_in(session: WriteSession, ward: str, boards: int, now: datetime) -> tuple[str, ...]:
    """A nurse for each board of a ward, and their cookies."""
    drafts = [
        StaffDraft(f"{ward}-n{n}", f"Nurse {n}", Role.BEDSIDE_NURSE, frozenset({ward}))
        for n in range(boards)
    ]
    nurses = [enter_staff(session, ADMINISTRATOR, draft, now=now) for draft in drafts]
    return tuple(f"{COOKIE}={sign_in(session, one, now=now).secret}" for one in nurses)


def _live(ward: str, place: int, size: Size, now: datetime) -> list[Unit]:
    """The units of a ward; those of another are some seconds older or younger."""
    return [
        _unit(f"{ward}-e{number}", ward, number, AGES[number % len(AGES)], place, now)
        for number in range(size.units)
    ]


def _unit(unit_id: str, ward: str, number: int, age: int | None, place: int, now: datetime) -> Unit:
    story: Story = () if age is None else CLOSED if age > 200 else ENDED
    begun = now - timedelta(minutes=age or 60, seconds=(place * 37 + number * 13) % 60)
    nurse_id = f"{ward}-n{number % 5}" if number % 9 else None
    return Unit(unit_id, ward, f"{number + 1}", story, begun, now, nurse_id)


def _closed(wards: Sequence[str], size: Size, now: datetime) -> list[Unit]:
    """Units whose watch is over, as many as make up the history with their copies."""
    told = enumerate(islice(cycle(wards), size.closed // COPIES))
    return [
        Unit(f"closed-{n}", ward, "1", CLOSED, now - timedelta(days=3, minutes=40 * n))
        for n, ward in told
    ]
