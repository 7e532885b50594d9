"""What became of a unit: its final fate, or by name what is missing.

Annex I of Directive 2005/61/EC lists what a hospital keeps of each unit: who supplied it, which
component it was, who received it or what became of it instead, and when.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from enum import StrEnum

from server.domain.labels.unit_numbers import SHAPE, UnitNumber
from server.domain.words import Component, Fate


class Gap(StrEnum):
    """What is missing of a unit. The first three leave open what became of it."""

    NEITHER_STARTED_NOR_RETURNED = "neither_started_nor_returned"
    NO_END = "no_end"
    NO_FATE = "no_fate"
    NO_NUMBER = "no_number"
    NO_PRODUCT = "no_product"
    NO_ISSUE = "no_issue"
    NO_REMOVAL = "no_removal"


class Standing(StrEnum):
    """Whether a unit is accounted for; `in_hand`: nothing of it is late yet."""

    ACCOUNTED_FOR = "accounted_for"
    IN_HAND = "in_hand"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class UnitRecord:
    """What is recorded of a unit that came to a ward. Instants are UTC, None: not recorded.

    `issued_at` or `started_at` is there. The limits are those of its clocks, by the policy that it
    is judged by; None where it owes none.
    """

    episode_id: str
    ward_id: str
    patient_id: str
    bed: str
    component: Component
    issued_at: datetime | None = None
    removed_at: datetime | None = None
    started_at: datetime | None = None
    ended_at: datetime | None = None
    fate: Fate | None = None
    fate_at: datetime | None = None
    number: str | None = None
    product_code: str | None = None
    division: str | None = None
    start_limit_at: datetime | None = None
    return_limit_at: datetime | None = None
    finish_limit_at: datetime | None = None
    fate_limit_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class OutOfStorage:
    """How long a unit was out of storage before it was started or went back.

    Counted from its removal, without one from its issue. `limit_at` is that of the `start` clock
    for a unit that was started, of `return` for one that went back; None where it owed none.
    """

    minutes: float
    from_at: datetime
    until: datetime
    limit_at: datetime | None

    @property
    def is_within(self) -> bool | None:
        """Whether it was within policy, None where nothing was owed."""
        return None if self.limit_at is None else self.until <= self.limit_at


@dataclass(frozen=True, slots=True)
class Account:
    """A unit with how it stands at an instant, and its gaps, the gravest first."""

    unit: UnitRecord
    standing: Standing
    gaps: tuple[Gap, ...]
    out_of_storage: OutOfStorage | None


def account(unit: UnitRecord, now: datetime) -> Account:
    """Answer how a unit stands at `now`: accounted for once its final fate is recorded."""
    standing = _standing(unit, now)
    open_end = [_open_end(unit)] if standing is Standing.MISSING else []
    return Account(unit, standing, (*open_end, *_lacking(unit)), out_of_storage(unit))


def _standing(unit: UnitRecord, now: datetime) -> Standing:
    if unit.fate is not None:
        return Standing.ACCOUNTED_FOR
    limit = unit.finish_limit_at if unit.ended_at is None else unit.fate_limit_at
    is_late = limit is None or now > limit
    return Standing.MISSING if is_late else Standing.IN_HAND


def _open_end(unit: UnitRecord) -> Gap:
    if unit.ended_at is not None:
        return Gap.NO_FATE
    return Gap.NEITHER_STARTED_NOR_RETURNED if unit.started_at is None else Gap.NO_END


def _lacking(unit: UnitRecord) -> Iterable[Gap]:
    if unit.number is None:
        yield Gap.NO_NUMBER
    elif unit.product_code is None:
        yield Gap.NO_PRODUCT
    if unit.issued_at is None:
        yield Gap.NO_ISSUE
    elif unit.removed_at is None:
        yield Gap.NO_REMOVAL


def out_of_storage(unit: UnitRecord) -> OutOfStorage | None:
    """Answer how long a unit was out, None while it is and where nothing says since when."""
    since = unit.removed_at or unit.issued_at
    if unit.started_at is not None:
        until, limit = unit.started_at, unit.start_limit_at
    elif unit.fate is Fate.RETURNED and unit.fate_at is not None:
        until, limit = unit.fate_at, unit.return_limit_at
    else:
        return None
    if since is None:
        return None
    return OutOfStorage(round((until - since).total_seconds() / 60, 2), since, until, limit)


def supplier_of(number: str | None) -> str | None:
    """Answer the facility that an ISBT 128 unit number names, None where it names none.

    Source: ICCBBA ST-001, data structure 001: the first five characters.
    """
    if number is None or not SHAPE.fullmatch(number):
        return None
    return UnitNumber(number).facility


def disposed_on(unit: UnitRecord, zone: tzinfo) -> date | None:
    """Answer the day of the ward on which a unit was given, or on which it went elsewhere."""
    instant = unit.started_at or unit.fate_at
    return None if instant is None else instant.astimezone(zone).date()


def kept_until(unit: UnitRecord, years: int, zone: tzinfo) -> date:
    """Answer the day until which the record of a unit has to be kept at least.

    Counted in the ward's days from the last thing that became of the unit.
    """
    told = (unit.issued_at, unit.started_at, unit.ended_at, unit.fate_at)
    last = max(instant for instant in told if instant is not None)
    day = last.astimezone(zone).date()
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February in a year without one
        return date(day.year + years, 3, 1)
