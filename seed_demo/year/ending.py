"""After a unit has ended: the line, the last signs, whether a next one is wanted, the bag."""

from datetime import datetime, timedelta
from typing import Final

from seed_demo.year.lots import minutes
from seed_demo.year.telling import Telling
from server.domain.payloads import Confirmed, FateRecorded, Flushed
from server.domain.words import ClockName, Component, Confirmation, Fate, Kind

MINUTE: Final = timedelta(minutes=1)
NEVER: Final = 0.3
REASSESSES: Final = 0.7
FLUSH_ML: Final = 5.0


def close(telling: Telling, ended: datetime) -> None:
    """Tell what comes after the end, up to the fate of the bag, where somebody records one."""
    rng = telling.rng
    telling.did(ended + minutes(rng, 0.5, 2), Flushed(FLUSH_ML), telling.whoever(ended))
    _last_signs(telling, ended)
    _reassess(telling, ended)
    _fate(telling, ended)


def _last_signs(telling: Telling, ended: datetime) -> None:
    rng, forgets = telling.rng, telling.rng.random() < telling.work.habits.forgets_end
    if forgets and rng.random() < NEVER:
        return
    if forgets:
        telling.causes[ClockName.END_CHECK] = "other"
    wanted = ended + (minutes(rng, 62, 170) if forgets else minutes(rng, 2, 13))
    at, by = telling.visit(wanted, ClockName.END_CHECK)
    telling.took_signs(at, by)


def _reassess(telling: Telling, ended: datetime) -> None:
    """After red cells somebody says whether another unit is still wanted."""
    request = telling.request
    if request.component is Component.RED_CELLS and telling.rng.random() < REASSESSES:
        at = ended + minutes(telling.rng, 8, 25)
        telling.did(at, Confirmed(Confirmation.REASSESSED), telling.turn.charge)


def _fate(telling: Telling, ended: datetime) -> None:
    rng, habits = telling.rng, telling.work.habits
    if rng.random() < habits.loses_bag:
        return
    forgets = rng.random() < habits.forgets_fate
    if forgets:
        telling.causes[ClockName.FATE] = "done in time, not charted"
    at = ended + (minutes(rng, 250, 900) if forgets else minutes(rng, 18, 85))
    part = any(event.kind is Kind.STOPPED for event in telling.events)
    fate = Fate.PART_TRANSFUSED if part else Fate.TRANSFUSED
    telling.did(at, FateRecorded(fate), telling.whoever(at))
