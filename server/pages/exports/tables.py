"""The tables of a ward that can be taken away as files, and what each is narrowed to, in words."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.audit import SubjectKind
from server.domain.breach_list import Wanted
from server.domain.policy import PolicyValue
from server.domain.review.days import Days
from server.domain.review.periods import By
from server.domain.wording import COMPONENT
from server.domain.words import Component
from server.domain.workload.period import Period as WorkPeriod
from server.exchange.sheets.account_sheet import account_sheet, laboratory_sheet
from server.exchange.sheets.audit_sheet import audit_sheet
from server.exchange.sheets.breach_sheet import breach_sheet
from server.exchange.sheets.common import Maker
from server.exchange.sheets.load_sheet import load_sheet
from server.exchange.sheets.rate_sheet import rate_sheet
from server.exchange.sheets.sheet import Sheet
from server.exchange.sheets.time_sheet import time_sheet
from server.pages.breach_pages.filters import (
    read_filters,
)
from server.pages.exports.ground import Ground, Naming
from server.pages.exports.narrowing import filter_words
from server.pages.forms.entry import Entry, Wrong
from server.pages.reviews.beside_view import MEASURE
from server.services.account_for_units import NamedAccount, each_account
from server.services.enter_ward import read_ward_policy
from server.services.list_breaches import BreachRow, list_breaches
from server.services.passed_limits import Period
from server.services.read_alarm_load import read_alarm_load
from server.services.review_ground import Asked as Reviewed
from server.services.review_period import review_period
from server.services.review_rates import Asked as Rated
from server.services.review_rates import review_rates

AT_ONCE: Final = timedelta(days=31)

AccountSheet = Callable[[Maker, Iterable[NamedAccount], tuple[str, ...], PolicyValue], Sheet]


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its name, its words in the list, how the audit trail calls it, what makes it."""

    name: str
    text: str
    kind: SubjectKind
    naming: Naming
    make: Callable[[Ground], Sheet]


def _breaches(ground: Ground) -> Sheet:
    asked = read_filters(ground.asked, (ground.ward,), ground.now)
    if asked is None:
        raise Wrong(ground.asked.errors)
    only = (ground.only("limits"), *filter_words(ground.asked))
    return breach_sheet(ground.maker, _each_breach(ground, asked.wanted), only)


def _each_breach(ground: Ground, wanted: Wanted) -> Iterator[BreachRow]:
    """A month at a time: each comes with its unit, and a year of units need not be held at once."""
    ward_id, now, until = ground.ward.id, ground.now, ground.period.until
    begin = ground.period.from_at
    while begin < until:
        end = min(begin + AT_ONCE, until)
        part = Period(begin, end)
        yield from list_breaches(
            ground.session, ground.actor, ward_id, part, now=now, wanted=wanted
        )
        begin = end


def _units(ground: Ground) -> Sheet:
    return _accounts(ground, account_sheet)


def _laboratory(ground: Ground) -> Sheet:
    return _accounts(ground, laboratory_sheet)


def _accounts(ground: Ground, make: AccountSheet) -> Sheet:
    session, ward, now = ground.session, ground.ward, ground.now
    found = each_account(session, ground.actor, ward.id, ground.period, now=now)
    kept = read_ward_policy(session, ward.id, now=now).values["retention.years"]
    return make(ground.maker, found, (ground.only("units that came to the ward"),), kept)


def _rates(ground: Ground) -> Sheet:
    by, component = _parts(ground.asked) or By.WEEK, _component(ground.asked)
    period = WorkPeriod(ground.period.from_at, ground.period.until)
    asked = Rated(period, by, component)
    found = review_rates(ground.session, ground.actor, ground.ward.id, asked, now=ground.now)
    only = (ground.only("limits"), *_of(component))
    return rate_sheet(ground.maker, found, only)


def _times(ground: Ground) -> Sheet:
    component = _component(ground.asked)
    asked = Reviewed(Days(*ground.days), By.MONTH, component)
    found = review_period(ground.session, ground.actor, ground.ward.id, asked, now=ground.now)
    only = (ground.only("units issued"), *_of(component))
    return time_sheet(ground.maker, found.to_start, found.to_end, only)


def _published(ground: Ground) -> Sheet:
    component = _component(ground.asked)
    asked = Reviewed(Days(*ground.days), By.MONTH, component)
    found = review_period(ground.session, ground.actor, ground.ward.id, asked, now=ground.now)
    audits, only = ground.session.site.audits, (ground.only("limits and units"), *_of(component))
    return audit_sheet(ground.maker, audits, found.figures, _MEASURES, only)


_MEASURES: Final = {measure.value: words for measure, words in MEASURE.items()}


def _parts(asked: Entry) -> By | None:
    by = asked.choice("by", list(By))
    asked.check()
    return None if by is None else By(by)


def _component(asked: Entry) -> Component | None:
    component = asked.choice("component", list(Component))
    asked.check()
    return None if component is None else Component(component)


def _of(component: Component | None) -> tuple[str, ...]:
    return () if component is None else (f"component: {COMPONENT[component]}",)


def _reminders(ground: Ground) -> Sheet:
    found = read_alarm_load(
        ground.session, ground.actor, ground.ward.id, ground.period, now=ground.now
    )
    return load_sheet(ground.maker, found, (ground.only("reminders raised"),))


TABLES: Final = {
    table.name: table
    for table in (
        Table(
            "breaches",
            "Breaches, with how late and why",
            SubjectKind.BREACHES,
            Naming.CHOICE,
            _breaches,
        ),
        Table(
            "rates",
            "Rates of each limit, whole and part by part",
            SubjectKind.REVIEW,
            Naming.NEVER,
            _rates,
        ),
        Table(
            "times",
            "Times from issue to start and end",
            SubjectKind.REVIEW,
            Naming.NEVER,
            _times,
        ),
        Table(
            "published",
            "Own figures beside published audits",
            SubjectKind.REVIEW,
            Naming.NEVER,
            _published,
        ),
        Table(
            "units",
            "Units, and what became of each",
            SubjectKind.ACCOUNTS,
            Naming.CHOICE,
            _units,
        ),
        Table(
            "laboratory",
            "Units for the laboratory (Directive 2005/61/EC, Annex I)",
            SubjectKind.ACCOUNTS,
            Naming.ALWAYS,
            _laboratory,
        ),
        Table(
            "reminders",
            "Reminders, and what came of them",
            SubjectKind.ALARM_LOAD,
            Naming.NEVER,
            _reminders,
        ),
    )
}
