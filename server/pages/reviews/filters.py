"""What is asked of a review: read from its address, and written into one again."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from server.domain.review.counted import RATED
from server.domain.review.days import Days
from server.domain.review.periods import By
from server.domain.wording import CLOCK, COMPONENT
from server.domain.words import ClockName, Component
from server.pages.forms.entry import Entry
from server.pages.forms.fields import Options
from server.pages.links import asking
from server.services.review_ground import Asked

FIELDS: Final = ("from", "to", "by", "component", "clock", "anew")
CLOCKS: Final[Options] = tuple((one.value, CLOCK[one]) for one in RATED)
COMPONENTS: Final[Options] = tuple((one.value, words) for one, words in COMPONENT.items())
BYS: Final[Options] = (("day", "days"), ("week", "weeks"), ("month", "months"))
FIRST_SHOWN: Final = ClockName.FIRST_CHECK
WEEKS: Final = 12
"""Shown at first: as many as the limits of a control chart need to be more than a first try."""
YEARS: Final = range(1900, 2200)
BY_DAY_UP_TO: Final = 35
BY_WEEK_UP_TO: Final = 400

_DAY: Final = timedelta(days=1)
_WEEK: Final = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for, the limit that is charted, and whether limits begin anew at changes."""

    asked: Asked
    clock: ClockName
    anew: bool


@dataclass(frozen=True, slots=True)
class Preset:
    """Days that are often asked for: what they are called and their address."""

    text: str
    href: str
    current: bool


def read_filters(entry: Entry, today: date) -> Wanted | None:
    """Answer what is asked, None with the reasons noted in `entry`.

    Without days: the last twelve weeks up to and with today, the first from its Monday.
    """
    shown = _shown_first(today)
    first = entry.day("from") or (None if "from" in entry.errors else shown.first)
    last = entry.day("to") or (None if "to" in entry.errors else shown.last)
    by = entry.choice("by", [one.value for one in By])
    component = entry.choice("component", [one.value for one in Component])
    clock = entry.choice("clock", [one.value for one in RATED])
    for name, day in (("from", first), ("to", last)):
        if day is not None and day.year not in YEARS:
            entry.refuse(name, f"expected a year from {YEARS.start} to {YEARS.stop - 1}")
    if entry.errors or first is None or last is None:
        return None
    days = Days(first, last)
    asked = Asked(
        days,
        usual_parts(days) if by is None else By(by),
        None if component is None else Component(component),
    )
    return Wanted(asked, FIRST_SHOWN if clock is None else ClockName(clock), anew="anew" in entry)


def usual_parts(days: Days) -> By:
    """Answer what days are cut into where nobody says: about a dozen to a few dozen parts."""
    if days.count <= BY_DAY_UP_TO:
        return By.DAY
    return By.WEEK if days.count <= BY_WEEK_UP_TO else By.MONTH


def filled(entry: Entry, wanted: Wanted | None) -> Entry:
    """What stands in the form: what was asked, with what was taken for it where nothing was."""
    said = {name: list(texts) for name, texts in entry.values.items() if any(texts)}
    return Entry(({} if wanted is None else _values(wanted)) | said)


def presets(href: str, wanted: Wanted | None, today: date) -> tuple[Preset, ...]:
    """Answer the days that are often asked for, with everything else as it is asked."""
    kept = {} if wanted is None else _kept(wanted)
    return tuple(
        Preset(
            text,
            asking(href, kept | {"from": f"{days.first}", "to": f"{days.last}"}),
            wanted is not None and wanted.asked.days == days,
        )
        for text, days in _often(today)
    )


def hidden(wanted: Wanted) -> tuple[tuple[str, str], ...]:
    """Answer the question as the hidden fields of a form that comes back to it."""
    return tuple((name, texts[0]) for name, texts in _values(wanted).items() if texts[0])


def address_of(href: str, wanted: Wanted, **changed: str) -> str:
    """Answer the address of the same question with some of it changed."""
    return asking(href, {name: texts[0] for name, texts in _values(wanted).items()} | changed)


def _values(wanted: Wanted) -> dict[str, list[str]]:
    days = wanted.asked.days
    return (
        {"from": [f"{days.first}"], "to": [f"{days.last}"]}
        | {name: [text] for name, text in _kept(wanted).items()}
        | {"by": [wanted.asked.by.value]}
    )


def _kept(wanted: Wanted) -> dict[str, str]:
    """What stays when other days are asked for; into what they are cut depends on them."""
    component = wanted.asked.component
    return {
        "component": "" if component is None else component.value,
        "clock": wanted.clock.value,
    } | ({"anew": "true"} if wanted.anew else {})


def _shown_first(today: date) -> Days:
    monday = today - today.weekday() * _DAY
    return Days(monday - (WEEKS - 1) * _WEEK, today)


def _often(today: date) -> Iterator[tuple[str, Days]]:
    month = today.replace(day=1)
    before = month - _DAY
    yield "Last 4 weeks", Days(today - 4 * _WEEK + _DAY, today)
    yield "This month", Days(month, today)
    yield "Last month", Days(before.replace(day=1), before)
    yield f"Last {WEEKS} weeks", _shown_first(today)
    yield "Last 12 months", Days(_year_before(month), before)


def _year_before(month: date) -> date:
    return month.replace(year=month.year - 1)
