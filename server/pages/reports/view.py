"""The report of a period, ready to be shown and printed: sentences, tables and one drawing."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.account_wording import gap_words
from server.domain.breach_list import Passed
from server.domain.review.rates import Tally, caution
from server.domain.review.share import Share
from server.domain.review.survival import Curve
from server.domain.review.times import Lateness, Times
from server.domain.wording import CLOCK, COMPONENT, day_text, span
from server.domain.words import ClockName
from server.pages.accounts.view import account_words, kept_words
from server.pages.charts.rates import Rate, RatesView, rates_view
from server.pages.charts.units import minutes, percent
from server.pages.reports.read_report import Report
from server.pages.reviews.beside_view import BesideRow, beside_view
from server.services.account_for_units import NamedAccount
from server.services.list_breaches import BreachRow

NONE: Final = "–"
WITHOUT: Final = "unit {}"


@dataclass(frozen=True, slots=True)
class RateLine:
    """One limit: its counts, its rate with its interval, and its rate in the period before."""

    name: str
    owed: int
    met: int
    late: int
    missed: int
    rate: str
    interval: str
    before: str
    lateness: str


@dataclass(frozen=True, slots=True)
class BreachLine:
    """The breaches of one limit: how many are open, and the causes of the others."""

    name: str
    breaches: int
    still_open: int
    causes: str


@dataclass(frozen=True, slots=True)
class UnitLine:
    """A limit without a cause, or a unit that is missing. `who` is its patient where named."""

    what: str
    when: str
    unit: str
    who: str


@dataclass(frozen=True, slots=True)
class TimeLine:
    """How long units took: how many, the median, and the time of nine in ten."""

    name: str
    units: int
    median: str
    p90: str


@dataclass(frozen=True, slots=True)
class Made:
    """Who made a report and when, and whether it names patients."""

    by: str
    at: datetime
    version: str
    with_identity: bool


@dataclass(frozen=True, slots=True)
class ReportView:
    """The report."""

    ward: str
    days: str
    made: str
    policy: str
    with_identity: bool
    short: tuple[str, ...]
    chart: RatesView
    rates: tuple[RateLine, ...]
    before: str
    breaches: tuple[BreachLine, ...]
    breach_words: str
    still_open: tuple[UnitLine, ...]
    to_start: tuple[TimeLine, ...]
    to_end: tuple[TimeLine, ...]
    beside: tuple[BesideRow, ...]
    account_words: str
    missing: tuple[UnitLine, ...]
    changes: tuple[tuple[str, str], ...]
    kept: str


def report_view(found: Report, made: Made) -> ReportView:
    """Answer the report as it is printed."""
    zone = ZoneInfo(found.ward.timezone)
    review = found.review
    owed = {clock: tally for clock, tally in review.tallies.items() if tally.owed}
    return ReportView(
        ward=found.ward.name,
        days=f"{day_text(found.days.first)} to {day_text(found.days.last)}",
        made=_made(made, zone),
        policy=f"{found.policy.title}, version {found.policy.version}",
        with_identity=made.with_identity,
        short=_short(found),
        chart=rates_view(
            "report-rates",
            "Limits kept in time",
            [Rate(CLOCK[clock], tally) for clock, tally in owed.items()],
        ),
        rates=tuple(
            _rate(clock, tally, review.before.get(clock, Tally()), review.lateness.get(clock))
            for clock, tally in owed.items()
        ),
        before=f"{day_text(found.days.before.first)} to {day_text(found.days.before.last)}",
        breaches=_breaches(found.breaches),
        breach_words=_breach_words(found.breaches),
        still_open=tuple(_open(one, zone, made) for one in found.still_open),
        to_start=_times(review.to_start),
        to_end=_times(review.to_end),
        beside=beside_view(review, found.audits),
        account_words=account_words(found.accounts),
        missing=tuple(_missing(one, zone, made) for one in found.missing),
        changes=tuple((day_text(one.day), one.text) for one in review.changes if one.stands),
        kept=kept_words(found.accounts, zone, made.at.astimezone(zone).date()),
    )


def _made(made: Made, zone: ZoneInfo) -> str:
    local = made.at.astimezone(zone)
    return f"{day_text(local)}, {local:%H:%M %Z}, by {made.by}, with Fourth Hour {made.version}"


def _rate(clock: ClockName, tally: Tally, before: Tally, late: Lateness | None) -> RateLine:
    reach = tally.interval
    return RateLine(
        name=CLOCK[clock],
        owed=tally.owed,
        met=tally.met,
        late=tally.late,
        missed=tally.missed,
        rate="too few" if tally.is_small or tally.rate is None else percent(tally.rate),
        interval=NONE if reach is None else f"{percent(reach.low)} to {percent(reach.high)}",
        before=_before(before),
        lateness=NONE if late is None else f"{minutes(late.median)}, at most {minutes(late.most)}",
    )


def _before(before: Tally) -> str:
    if before.rate is None or before.is_small:
        return caution(before)
    return f"{percent(before.rate)} of {before.owed}"


def _breaches(passed: Iterable[Passed]) -> tuple[BreachLine, ...]:
    by_clock: dict[ClockName, list[Passed]] = {}
    for one in passed:
        by_clock.setdefault(one.clock, []).append(one)
    return tuple(_breach_line(clock, by_clock[clock]) for clock in ClockName if clock in by_clock)


def _breach_line(clock: ClockName, passed: list[Passed]) -> BreachLine:
    causes = Counter(one.cause for one in passed if one.cause is not None)
    told = sorted(causes.items(), key=lambda item: (-item[1], item[0]))
    return BreachLine(
        name=CLOCK[clock],
        breaches=len(passed),
        still_open=sum(one.cause is None for one in passed),
        causes=", ".join(f"{cause} {count}" for cause, count in told) or NONE,
    )


def _breach_words(passed: Iterable[Passed]) -> str:
    listed = list(passed)
    if not listed:
        return "No limit was passed in this period."
    units = len({one.episode_id for one in listed})
    still_open = sum(one.cause is None for one in listed)
    many = "1 breach" if len(listed) == 1 else f"{len(listed)} breaches"
    where = "1 unit" if units == 1 else f"{units} units"
    return f"{many} on {where}: {still_open} open, {len(listed) - still_open} explained."


def _open(row: BreachRow, zone: ZoneInfo, made: Made) -> UnitLine:
    case, breach = row.picture.case, row.breach
    n = "" if breach.n == 1 else f" {breach.n}"
    late = breach.late_minutes
    return UnitLine(
        what=f"{CLOCK[breach.clock]}{n}, "
        + ("missed" if late is None else f"{span(max(1, round(late)))} late"),
        when=_at(breach.limit_at, zone),
        unit=_unit(row.picture.episode.unit_number, COMPONENT[case.request.component]),
        who=f"{case.patient.full_name}, {case.patient.record_number}, bed {case.request.bed}"
        if made.with_identity
        else "",
    )


def _missing(found: NamedAccount, zone: ZoneInfo, made: Made) -> UnitLine:
    unit, patient = found.account.unit, found.patient
    came = unit.issued_at or unit.started_at
    return UnitLine(
        what="; ".join(gap_words(found.account, zone)),
        when="" if came is None else _at(came, zone),
        unit=_unit(unit.number, COMPONENT[unit.component]),
        who=f"{patient.full_name}, {patient.record_number}, bed {unit.bed}"
        if made.with_identity
        else "",
    )


def _unit(number: str | None, component: str) -> str:
    return f"{number or 'no number'}, {component.lower()}"


def _at(instant: datetime, zone: ZoneInfo) -> str:
    local = instant.astimezone(zone)
    return f"{local:%a} {local.day} {local:%b %Y %H:%M}"


def _short(found: Report) -> tuple[str, ...]:
    """The period in a few sentences."""
    accounts = found.accounts
    said = (
        _breach_words(found.breaches),
        account_words(accounts),
        _half("started", found.review.to_start.whole),
        _half("over", found.review.to_end.whole),
        *_shares(found),
    )
    return tuple(words for words in said if words)


def _half(what: str, curve: Curve) -> str:
    if curve.median is None:
        return ""
    nine = "" if curve.p90 is None else f", nine in ten after {minutes(curve.p90)}"
    return f"Half of {curve.total} units were {what} {minutes(curve.median)} after issue{nine}."


def _times(times: Times) -> tuple[TimeLine, ...]:
    named: Mapping[str, Curve] = {"All units": times.whole} | {
        COMPONENT[component]: curve for component, curve in times.by_component.items()
    }
    return tuple(_time(name, curve) for name, curve in named.items() if curve.total)


def _time(name: str, curve: Curve) -> TimeLine:
    reached = (NONE if one is None else minutes(one) for one in (curve.median, curve.p90))
    return TimeLine(name, curve.total, *reached)


def _shares(found: Report) -> tuple[str, ...]:
    routine, again = found.review.routine, found.review.figures.reassessed
    said = (
        _share(routine, "routine units were started at night"),
        _share(
            Share(again.met, again.owed),
            "single red cell units were followed by a new look at the patient before the next",
        ),
    )
    return tuple(words for words in said if words)


def _share(share: Share, what: str) -> str:
    if share.part is None or share.interval is None:
        return ""
    low, high = percent(share.interval.low), percent(share.interval.high)
    doubt = "; too few to judge" if share.is_small else ""
    return (
        f"{share.count} of {share.of} {what}: {percent(share.part)} "
        f"(95 % interval {low} to {high}{doubt})."
    )
