"""The units of a period and what became of each, ready to be shown: the missing ones first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.account import Account, Gap, OutOfStorage, Standing, kept_until
from server.domain.account_wording import FATE, gap_words
from server.domain.labels.unit_numbers import SHAPE, UnitNumber
from server.domain.request import Patient
from server.domain.wording import COMPONENT, day_text, span, stamp
from server.pages.links import episode_href
from server.services.account_for_units import Accounts, NamedAccount
from server.services.list_double_bags import Holder

STANDING: Final = {
    Standing.MISSING: "Missing",
    Standing.IN_HAND: "In hand",
    Standing.ACCOUNTED_FOR: "",
}
OPEN_ENDS: Final = frozenset({Gap.NEITHER_STARTED_NOR_RETURNED, Gap.NO_END, Gap.NO_FATE})


@dataclass(frozen=True, slots=True)
class AccountRow:
    """One unit. `standing` is empty once it is accounted for; `became` is what became of it."""

    href: str
    number: str
    product: str
    component: str
    patient: str
    record_number: str
    bed: str
    issued: str
    removed: str
    started: str
    ended: str
    out: str
    out_over: str
    standing: str
    became: str
    unit_lacks: str
    issue_lacks: str


@dataclass(frozen=True, slots=True)
class Twice:
    """A bag that two units hold: its number, and a sentence for each with a link where allowed."""

    number: str
    holders: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class AccountsView:
    """A page of units. `share` is the percentage accounted for, of those owed; None without any."""

    summary: str
    share: float | None
    missing: str
    rest: tuple[str, ...]
    rows: tuple[AccountRow, ...]
    twice: tuple[Twice, ...]
    shown: str
    kept: str
    kept_source: str


def accounts_view(
    found: Accounts, twice: Iterable[tuple[Holder, Holder]], zone: ZoneInfo, today: date
) -> AccountsView:
    """Answer the page of a period."""
    return AccountsView(
        summary=_summary(found),
        share=100 * found.accounted_for / found.owed if found.owed else None,
        missing=_many(found.missing, "unit is missing", "units are missing"),
        rest=_rest(found),
        rows=tuple(_row(one, found.patients[one.unit.patient_id], zone) for one in found.units),
        twice=tuple(_twice(pair, zone) for pair in twice),
        shown=_shown(found),
        kept=kept_words(found, zone, today),
        kept_source=found.kept.source,
    )


def found_rows(found: Iterable[NamedAccount], zone: ZoneInfo) -> tuple[AccountRow, ...]:
    """Answer the rows of the units that bear a number."""
    return tuple(_row(one.account, one.patient, zone) for one in found)


def percent(share: float) -> str:
    """Answer a percentage to a tenth; never 100 while anything is missing."""
    shown = 100.0 if share == 100 else min(round(share, 1), 99.9)  # noqa: PLR2004 - a percentage
    return f"{shown:g} %"


def account_words(found: Accounts) -> str:
    """Answer how many are accounted for, missing and in hand, in sentences; empty for none."""
    missing = _many(found.missing, "unit is missing", "units are missing")
    return " ".join(words for words in (_summary(found), missing, *_rest(found)) if words)


def _summary(found: Accounts) -> str:
    if not found.tally.units:
        return ""
    if not found.owed:
        return "No unit is due yet."
    if not found.missing:
        return (
            f"All {found.owed} units are accounted for."
            if found.owed > 1
            else ("The one unit is accounted for.")
        )
    share = percent(100 * found.accounted_for / found.owed)
    return f"{found.accounted_for} of {found.owed} units are accounted for: {share}."


def _rest(found: Accounts) -> tuple[str, ...]:
    numbers = found.tally.without_number
    said = (
        _many(found.in_hand, "unit is still in hand", "units are still in hand"),
        _many(numbers, "unit has no number recorded", "units have no number recorded"),
    )
    return tuple(words for words in said if words)


def _many(number: int, one: str, more: str) -> str:
    if not number:
        return ""
    return f"1 {one}." if number == 1 else f"{number} {more}."


def _shown(found: Accounts) -> str:
    if not found.units:
        return ""
    last = found.first + len(found.units)
    return f"Units {found.first + 1} to {last} of {found.tally.units}"


def kept_words(found: Accounts, zone: ZoneInfo, today: date) -> str:
    """Answer until when what is shown is kept at least; nothing is ever deleted."""
    years = int(str(found.kept.value))
    days = [kept_until(one.unit, years, zone) for one in found.units]
    until = f", of those listed until {day_text(min(days))} at least" if days else ""
    past = " Nothing is deleted here after that either." if days and min(days) <= today else ""
    return f"Policy wants these records kept for {years} years{until}.{past}"


def _row(found: Account, patient: Patient, zone: ZoneInfo) -> AccountRow:
    unit, out = found.unit, found.out_of_storage
    since = unit.issued_at or unit.started_at
    words = dict(zip(found.gaps, gap_words(found, zone), strict=True))
    return AccountRow(
        href=episode_href(unit.episode_id),
        number=_number(unit.number),
        product=" ".join(part for part in (unit.product_code, unit.division) if part),
        component=COMPONENT[unit.component],
        patient=patient.full_name,
        record_number=patient.record_number,
        bed=unit.bed,
        issued=_dated(unit.issued_at, zone),
        removed=_then(unit.removed_at, unit.issued_at, zone),
        started=_then(unit.started_at, unit.issued_at, zone),
        ended=_then(unit.ended_at, since, zone),
        out="" if out is None else span(int(out.minutes)),
        out_over=_over(out),
        standing=STANDING[found.standing],
        became=_became(found, words, zone),
        unit_lacks=words.get(Gap.NO_NUMBER) or words.get(Gap.NO_PRODUCT) or "",
        issue_lacks=words.get(Gap.NO_ISSUE) or words.get(Gap.NO_REMOVAL) or "",
    )


def _became(found: Account, words: dict[Gap, str], zone: ZoneInfo) -> str:
    unit = found.unit
    since = unit.issued_at or unit.started_at
    if unit.fate is not None:
        return f"{FATE[unit.fate]} {_then(unit.fate_at, since, zone)}".rstrip()
    if found.standing is Standing.MISSING:
        return next(text for gap, text in words.items() if gap in OPEN_ENDS)
    if unit.ended_at is not None:
        return f"fate to be recorded by {_then(unit.fate_limit_at, since, zone)}"
    return "running" if unit.started_at is not None else "not started yet"


def _over(out: OutOfStorage | None) -> str:
    if out is None or out.limit_at is None or out.is_within:
        return ""
    over = max(1, int((out.until - out.limit_at).total_seconds() // 60))
    return f"{span(over)} over policy"


def _number(number: str | None) -> str:
    """A coded number in groups with its check character, as people read it aloud."""
    if number is None:
        return ""
    return UnitNumber(number).shown if SHAPE.fullmatch(number) else number


def _twice(pair: tuple[Holder, Holder], zone: ZoneInfo) -> Twice:
    return Twice(_number(pair[0].bag.number), tuple(_holder(one, zone) for one in pair))


def _holder(one: Holder, zone: ZoneInfo) -> tuple[str, str]:
    words = f"{one.ward_name}, since {_dated(one.bag.issued_at, zone)}"
    return words, episode_href(one.bag.episode_id) if one.is_open else ""


def _dated(instant: datetime | None, zone: ZoneInfo) -> str:
    return "" if instant is None else stamp(instant, zone, year=True)


def _then(instant: datetime | None, since: datetime | None, zone: ZoneInfo) -> str:
    """The time alone where it is of the same day of the ward as what stands before it."""
    if instant is None or since is None:
        return _dated(instant, zone)
    local = instant.astimezone(zone)
    is_same = local.date() == since.astimezone(zone).date()
    return f"{local:%H:%M}" if is_same else stamp(instant, zone)
