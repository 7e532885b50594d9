"""What is asked of the list of breaches: read from its address, and written into one again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.breach_list import NO_SHIFT, Wanted
from server.domain.wording import CLOCK, COMPONENT
from server.domain.words import ClockName, Component
from server.pages.forms.entry import Entry
from server.pages.forms.fields import Options
from server.pages.forms.period import A_WEEK, last_days, period_of
from server.pages.links import asking
from server.services.cases import zone_of
from server.services.find_breaches import Asked
from server.services.passed_limits import Period
from server.store.wards import Ward

FIELDS: Final = (
    *("from", "to", "ward", "clock", "component", "shift", "weekday", "hour", "part"),
    *("show", "page"),
)
MORE: Final = ("component", "shift", "weekday", "hour", "part")
"""The filters that stand folded away until one of them is used."""

OPEN: Final = "open"
EXPLAINED: Final = "explained"
KEPT: Final = "kept"

CLOCKS: Final[Options] = tuple((one.value, words) for one, words in CLOCK.items())
COMPONENTS: Final[Options] = tuple((one.value, words) for one, words in COMPONENT.items())
WEEKDAYS: Final[Options] = (
    ("1", "Monday"),
    ("2", "Tuesday"),
    ("3", "Wednesday"),
    ("4", "Thursday"),
    ("5", "Friday"),
    ("6", "Saturday"),
    ("7", "Sunday"),
)
HOURS: Final[Options] = tuple((f"{hour}", f"{hour:02d}:00–{hour:02d}:59") for hour in range(24))
PARTS: Final[Options] = (("day", "day"), ("night", "night"))
NIGHT: Final = {"day": False, "night": True}
SHOWS: Final = {OPEN: False, EXPLAINED: True}


@dataclass(frozen=True, slots=True)
class Choices:
    """What the filters offer; `shifts` are the hours that limits of the period lay in."""

    wards: Options
    shifts: Options = ()
    clocks: Options = CLOCKS
    components: Options = COMPONENTS
    weekdays: Options = WEEKDAYS
    hours: Options = HOURS
    parts: Options = PARTS


def read_filters(entry: Entry, wards: tuple[Ward, ...], now: datetime) -> Asked | None:
    """Answer what is asked of these wards, None with the reasons noted in `entry`.

    Without days: the last week. A day is one of each ward, by its own clock.
    """
    one = entry.choice("ward", [ward.id for ward in wards])
    chosen = [ward for ward in wards if one in (None, ward.id)]
    periods = {ward.id: _period(entry, ward, now) for ward in chosen}
    wanted = _wanted(entry)
    entry.choice("show", [OPEN, EXPLAINED, KEPT])
    page = entry.whole("page")
    sound = {ward_id: period for ward_id, period in periods.items() if period is not None}
    return None if entry.errors else Asked(sound, wanted, page or 1)


def _period(entry: Entry, ward: Ward, now: datetime) -> Period | None:
    zone = zone_of(ward)
    week = last_days(A_WEEK, now, zone)
    typed = Entry({name: [entry.raw(name) or day] for name, day in week.items()})
    period = period_of(typed, zone)
    for name, why in typed.errors.items():
        entry.refuse(name, why)
    return period


def _wanted(entry: Entry) -> Wanted:
    clock = entry.choice("clock", [one.value for one in ClockName])
    component = entry.choice("component", [one.value for one in Component])
    weekday = entry.choice("weekday", dict(WEEKDAYS))
    hour = entry.choice("hour", dict(HOURS))
    return Wanted(
        clock=None if clock is None else ClockName(clock),
        component=None if component is None else Component(component),
        shift=entry.text("shift"),
        weekday=None if weekday is None else int(weekday),
        hour=None if hour is None else int(hour),
        night=NIGHT.get(entry.choice("part", dict(PARTS)) or ""),
        explained=SHOWS.get(entry.raw("show")),
    )


def shift_words(hours: str) -> str:
    """Answer the hours of a shift as they are shown, `07:00–19:30`."""
    return "no shift entered" if hours == NO_SHIFT else hours.replace("-", "–")


def address(href: str, entry: Entry, changed: Mapping[str, str]) -> str:
    """Answer the same question with some of it changed, from its first page on."""
    kept = {name: entry.raw(name) for name in FIELDS if name != "page"}
    return asking(href, kept | dict(changed))
