"""The list of breaches as it is shown: a page of rows, their totals, and ways to narrow it."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from server.domain.breaches import Breach
from server.domain.wording import (
    CLOCK,
    COMPONENT,
    clock_text,
    span,
    stamp,
    whole_minutes,
)
from server.domain.words import ClockName
from server.pages.breach_pages.filters import EXPLAINED, KEPT, OPEN, address
from server.pages.forms.entry import Entry
from server.pages.links import breach_href
from server.pages.page_head import Link
from server.services.find_breaches import BreachPage, KeptRow, Totals
from server.services.list_breaches import BreachRow


@dataclass(frozen=True, slots=True)
class BreachLine:
    """One row. `cause` is empty while the breach is open; `met` says when a late entry told."""

    href: str
    limit: str
    passed: str
    bed: str
    patient: str
    component: str
    ward: str
    late: str
    cause: str
    cause_text: str
    met: str = ""


@dataclass(frozen=True, slots=True)
class BreachesView:
    """A page of rows. `tabs` choose what is listed, `by_clock` narrow it to one limit."""

    rows: tuple[BreachLine, ...]
    kept: bool
    wards: bool
    summary: str
    tabs: tuple[Link, ...]
    by_clock: tuple[Link, ...]
    page: int
    pages: int
    earlier: str
    later: str


def breaches_view(
    found: BreachPage, asked: Entry, href: str, now: datetime, *, wards: bool
) -> BreachesView:
    """Answer the view; `wards` says whether a row names its ward."""
    shown, kept = asked.raw("show"), asked.raw("show") == KEPT
    names = {ward.id: ward.name for ward in found.wards}
    lines = (
        [_kept_line(row, names, now) for row in found.kept]
        if kept
        else [_line(row, names, now) for row in found.rows]
    )
    return BreachesView(
        rows=tuple(lines),
        kept=kept,
        wards=wards,
        summary=_summary(found.totals),
        tabs=_tabs(found.totals, asked, href, shown),
        by_clock=() if kept else _by_clock(found.totals, asked, href),
        page=found.page,
        pages=found.pages,
        earlier=_page(asked, href, found.page - 1, found.pages),
        later=_page(asked, href, found.page + 1, found.pages),
    )


def stamp_near(instant: datetime, zone: tzinfo, now: datetime) -> str:
    """Answer the day and time of the ward, `Wed 25 Nov 14:20`; of another year, with its year."""
    is_other = instant.astimezone(zone).year != now.astimezone(zone).year
    return stamp(instant, zone, year=is_other)


def late_words(breach: Breach) -> str:
    """Answer how late a limit was met, or is by now, in minutes of the clock on the wall."""
    if breach.late_minutes is None:
        return "missed"
    until = breach.limit_at + timedelta(minutes=breach.late_minutes)
    return span(max(1, whole_minutes(breach.limit_at, until)))


def how_late(breach: Breach) -> str:
    """Answer how late a limit was met, `7 min late`, or that it was missed."""
    late = late_words(breach)
    return late if breach.late_minutes is None else f"{late} late"


def breaches_words(breaches: int, units: int, still_open: int) -> str:
    """Answer how many breaches there are, on how many units, and how many have no cause yet."""
    many = "1 breach" if breaches == 1 else f"{breaches} breaches"
    where = "1 unit" if units == 1 else f"{units} units"
    return f"{many} on {where}: {still_open} open, {breaches - still_open} explained."


def _line(row: BreachRow, names: dict[str, str], now: datetime) -> BreachLine:
    case, breach = row.picture.case, row.breach
    return BreachLine(
        href=breach_href(case.request.id, breach.clock, breach.n),
        limit=clock_text(breach.clock, breach.n),
        passed=stamp_near(breach.limit_at, case.zone, now),
        bed=case.request.bed,
        patient=case.patient.full_name,
        component=COMPONENT[case.request.component],
        ward=names[case.request.ward_id],
        late=late_words(breach),
        cause=breach.cause or "",
        cause_text=breach.cause_text or "",
    )


def _kept_line(row: KeptRow, names: dict[str, str], now: datetime) -> BreachLine:
    case = row.picture.case
    told, met = row.known_at, row.met_at
    return BreachLine(
        href=breach_href(case.request.id, row.clock, row.n),
        limit=clock_text(row.clock, row.n),
        passed=stamp_near(row.limit_at, case.zone, now),
        bed=case.request.bed,
        patient=case.patient.full_name,
        component=COMPONENT[case.request.component],
        ward=names[case.request.ward_id],
        late="" if told is None else span(max(1, whole_minutes(row.limit_at, told))),
        cause="",
        cause_text="",
        met="" if told is None or met is None else _told(met, told, case.zone, now),
    )


def _told(met: datetime, told: datetime, zone: tzinfo, now: datetime) -> str:
    after = span(whole_minutes(met, told))
    return f"done {stamp_near(met, zone, now)}, charted {after} after"


def _summary(totals: Totals) -> str:
    if not totals.breaches:
        return ""
    return breaches_words(totals.breaches, totals.units, totals.still_open)


def _tabs(totals: Totals, asked: Entry, href: str, shown: str) -> tuple[Link, ...]:
    counted = (
        ("", f"All {totals.breaches}"),
        (OPEN, f"Open {totals.still_open}"),
        (EXPLAINED, f"Explained {totals.explained}"),
        (KEPT, f"Shown as passed, kept after all {totals.kept}"),
    )
    return tuple(
        Link(text, address(href, asked, {"show": name}), name == shown) for name, text in counted
    )


def _by_clock(totals: Totals, asked: Entry, href: str) -> tuple[Link, ...]:
    """Each limit with how many breaches it has, the most first; one alone needs no choice."""
    counted = sorted(totals.by_clock.items(), key=lambda item: (-item[1], item[0]))
    if len(counted) < 2:  # noqa: PLR2004 - a choice is between two
        return ()
    return tuple(_clock_link(clock, count, asked, href) for clock, count in counted)


def _clock_link(clock: ClockName, count: int, asked: Entry, href: str) -> Link:
    return Link(f"{CLOCK[clock]} {count}", address(href, asked, {"clock": clock}))


def _page(asked: Entry, href: str, page: int, pages: int) -> str:
    return address(href, asked, {"page": f"{page}"}) if 1 <= page <= pages else ""
