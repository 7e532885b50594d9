"""The lines of a report's tables: limits, breaches, units and times."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from server.domain.account_wording import gap_words
from server.domain.breach_list import Passed
from server.domain.review.rates import Tally, caution
from server.domain.review.survival import Curve
from server.domain.review.times import Lateness, Times
from server.domain.wording import CLOCK, COMPONENT, clock_text, stamp
from server.domain.words import ClockName
from server.pages.breach_pages.list_view import how_late
from server.pages.charts.units import minutes, percent
from server.pages.reviews.words import NONE, interval_words, short_rate
from server.services.account_for_units import NamedAccount
from server.services.list_breaches import BreachRow


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


def rate_line(clock: ClockName, tally: Tally, before: Tally, late: Lateness | None) -> RateLine:
    """Answer the line of a limit, with its rate in the days before and how late it was met."""
    return RateLine(
        name=CLOCK[clock],
        owed=tally.owed,
        met=tally.met,
        late=tally.late,
        missed=tally.missed,
        rate=short_rate(tally),
        interval=interval_words(tally.interval),
        before=_before(before),
        lateness=NONE if late is None else f"{minutes(late.median)}, at most {minutes(late.most)}",
    )


def _before(before: Tally) -> str:
    if before.rate is None or before.is_small:
        return caution(before)
    return f"{percent(before.rate)} of {before.owed}"


def breach_lines(passed: Iterable[Passed]) -> tuple[BreachLine, ...]:
    """Answer a line for each limit that was not kept, in the order of the pathway."""
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


def open_line(row: BreachRow, zone: ZoneInfo, *, named: bool) -> UnitLine:
    """Answer the line of a breach that nobody has explained."""
    case, breach = row.picture.case, row.breach
    return UnitLine(
        what=f"{clock_text(breach.clock, breach.n)}, {how_late(breach)}",
        when=stamp(breach.limit_at, zone, year=True),
        unit=_unit(row.picture.episode.unit_number, COMPONENT[case.request.component]),
        who=f"{case.patient.full_name}, {case.patient.record_number}, bed {case.request.bed}"
        if named
        else "",
    )


def missing_line(found: NamedAccount, zone: ZoneInfo, *, named: bool) -> UnitLine:
    """Answer the line of a unit that is missing."""
    unit, patient = found.account.unit, found.patient
    came = unit.issued_at or unit.started_at
    return UnitLine(
        what="; ".join(gap_words(found.account, zone)),
        when="" if came is None else stamp(came, zone, year=True),
        unit=_unit(unit.number, COMPONENT[unit.component]),
        who=f"{patient.full_name}, {patient.record_number}, bed {unit.bed}" if named else "",
    )


def _unit(number: str | None, component: str) -> str:
    return f"{number or 'no number'}, {component.lower()}"


def time_lines(times: Times) -> tuple[TimeLine, ...]:
    """Answer a line for all units, and one for each component."""
    named: Mapping[str, Curve] = {"All units": times.whole} | {
        COMPONENT[component]: curve for component, curve in times.by_component.items()
    }
    return tuple(_time(name, curve) for name, curve in named.items() if curve.total)


def _time(name: str, curve: Curve) -> TimeLine:
    reached = (NONE if one is None else minutes(one) for one in (curve.median, curve.p90))
    return TimeLine(name, curve.total, *reached)
