"""Account for every unit that came to a ward: what became of it, or by name what is missing."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.account import Account, Standing, account
from server.domain.labels.unit_numbers import (
    LENGTH,
    SHAPE,
    plain_unit_number,
    read_unit_number,
)
from server.domain.policy import PolicyValue
from server.domain.request import Patient
from server.services.actor import Actor
from server.services.enter_ward import read_ward, read_ward_policy
from server.services.passed_limits import Period, require_a_year_at_most
from server.store.accounts import (
    Tally,
    read_units,
    settled_unit_ids,
    tally_units,
    unit_ids,
)
from server.store.issued_units import units_of_number
from server.store.patients import read_patients
from server.store.sessions import ReadSession

PAGE: Final = 50
BATCH: Final = 500


@dataclass(frozen=True, slots=True)
class Accounts:
    """A page of the units of a period, the missing ones first, then those in hand.

    `tally` counts them all; `missing` and `in_hand` are those of them that have no fate. `kept`
    is for how many years the policy in force wants their records kept, with its source.
    """

    ward_id: str
    period: Period
    tally: Tally
    missing: int
    in_hand: int
    units: tuple[Account, ...]
    patients: Mapping[str, Patient]
    first: int
    kept: PolicyValue

    @property
    def accounted_for(self) -> int:
        """How many have their final fate recorded."""
        return self.tally.units - self.tally.without_fate

    @property
    def owed(self) -> int:
        """Of how many it should be: those in hand are not late yet."""
        return self.accounted_for + self.missing


@dataclass(frozen=True, slots=True)
class NamedAccount:
    """A unit with the patient it was for."""

    account: Account
    patient: Patient


def account_for_units(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    period: Period,
    *,
    now: datetime,
    first: int = 0,
    most: int = PAGE,
) -> Accounts:
    """Answer a page of `most` units from the `first` on, of a period of at most a year.

    Raises `NotFound`, `Forbidden`, `Invalid`.
    """
    read_ward(session, actor, ward_id)
    require_a_year_at_most(period)
    span = (ward_id, period.from_at, period.until)
    open_ones = _open(session, period, ward_id, now)
    missing = sum(one.standing is Standing.MISSING for one in open_ones)
    shown = open_ones[first : first + most]
    rest = settled_unit_ids(
        session, *span, first=max(0, first - len(open_ones)), most=most - len(shown)
    )
    settled = (account(unit, now) for unit in read_units(session, rest))
    units = (*shown, *settled)
    return Accounts(
        ward_id=ward_id,
        period=period,
        tally=tally_units(session, *span),
        missing=missing,
        in_hand=len(open_ones) - missing,
        units=units,
        patients=read_patients(session, {one.unit.patient_id for one in units}),
        first=first,
        kept=read_ward_policy(session, ward_id, now=now).values["retention.years"],
    )


def _open(session: ReadSession, period: Period, ward_id: str, now: datetime) -> list[Account]:
    """The units without a fate: first the missing ones, each kind the earliest first."""
    ids = unit_ids(session, ward_id, period.from_at, period.until, without_fate=True)
    found = [account(unit, now) for unit in read_units(session, ids)]
    return sorted(found, key=lambda one: one.standing is not Standing.MISSING)


def list_missing(
    session: ReadSession, actor: Actor, ward_id: str, period: Period, *, now: datetime
) -> tuple[NamedAccount, ...]:
    """Answer the units of a period that are missing, the earliest first.

    Raises `NotFound`, `Forbidden`, `Invalid`.
    """
    read_ward(session, actor, ward_id)
    require_a_year_at_most(period)
    found = _open(session, period, ward_id, now)
    return tuple(_named(session, [one for one in found if one.standing is Standing.MISSING]))


def find_unit(
    session: ReadSession, actor: Actor, ward_id: str, typed: str, *, now: datetime
) -> tuple[NamedAccount, ...]:
    """Answer every unit of a ward that bears a number, whenever it came.

    The number as it is scanned, or typed with or without its check character. Raises `NotFound`,
    `Forbidden`, `Invalid`.
    """
    read_ward(session, actor, ward_id)
    number = "".join(plain_unit_number(typed.strip()).split()).upper()
    if len(number) == LENGTH + 1 and SHAPE.fullmatch(number[:LENGTH]):
        number = read_unit_number(number).number
    ids = [one.episode_id for one in units_of_number(session, number)]
    units = [unit for unit in read_units(session, ids) if unit.ward_id == ward_id]
    return tuple(_named(session, [account(unit, now) for unit in units]))


def each_account(
    session: ReadSession, actor: Actor, ward_id: str, period: Period, *, now: datetime
) -> Iterator[NamedAccount]:
    """Answer every unit of a period with its patient, the earliest first, some at a time.

    Raises `NotFound`, `Forbidden`, `Invalid`, at once.
    """
    read_ward(session, actor, ward_id)
    require_a_year_at_most(period)
    return _each(session, unit_ids(session, ward_id, period.from_at, period.until), now)


def _each(session: ReadSession, ids: tuple[str, ...], now: datetime) -> Iterator[NamedAccount]:
    for start in range(0, len(ids), BATCH):
        units = read_units(session, ids[start : start + BATCH])
        yield from _named(session, [account(unit, now) for unit in units])


def _named(session: ReadSession, found: list[Account]) -> Iterator[NamedAccount]:
    patients = read_patients(session, {one.unit.patient_id for one in found})
    for one in found:
        yield NamedAccount(one, patients[one.unit.patient_id])
