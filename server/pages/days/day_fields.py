"""The form of a day: one group of fields for each shift, filled with what was entered.

The fields of a person begin with their place in the form: `p0_from`, `p0_break_1_until`.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, time
from hashlib import sha256
from typing import Final, TypeAlias

from server.domain.urgency import natural
from server.domain.workload.capacity import Collector, NightRule, WallWindow, WardLimits
from server.pages.forms.entry import Entry
from server.pages.forms.fields import Field, Options, Shape
from server.services.read_day import Day
from server.store.shifts import Break, Shift
from server.store.staff import Staff
from server.store.training import ShiftWork, Training

Values: TypeAlias = dict[str, list[str]]

ROOM: Final = 2
"""How many breaks, duties and handovers there is always room for; what was entered has its own."""
MOST_GROUPS: Final = 12
MOST_PEOPLE: Final = 500
SEEN: Final = "seen"

TRAINED: Final[dict[str, tuple[bool, bool]]] = {
    "both": (True, True),
    "second": (False, True),
    "starts": (True, False),
    "neither": (False, False),
}
TRAINED_WORDS: Final[Options] = (
    ("both", "starts and checks"),
    ("second", "second check only"),
    ("starts", "starts only"),
    ("neither", "neither"),
)
NIGHT_WORDS: Final[Options] = (
    (NightRule.ALLOWED, "allowed"),
    (NightRule.AVOIDED, "avoided"),
    (NightRule.REFUSED, "refused"),
)
COLLECTOR_WORDS: Final[Options] = ((Collector.PORTER, "a porter"), (Collector.NURSE, "a nurse"))
LIMIT_FIELDS: Final = (
    Field("most_starts", "Units starting at once", Shape.WHOLE, unit="at most", bare=True),
    Field(
        "issues_per_quarter",
        "Units from the blood bank in a quarter of an hour",
        Shape.WHOLE,
        unit="at most",
        bare=True,
    ),
    Field(
        "collected_by",
        "A unit is collected by",
        Shape.PICK,
        options=COLLECTOR_WORDS,
        required=True,
    ),
    Field("porters", "Porters at once", Shape.WHOLE, unit="at most", bare=True),
    Field("night_rule", "Routine units at night", Shape.PICK, options=NIGHT_WORDS, required=True),
)
LIMIT_LABELS: Final = {one.name: one.label for one in LIMIT_FIELDS}


def day_values(day: Day) -> Values:
    """Answer the form of a day as it stands, with the usual times of those who are not on duty."""
    values = {"day": [day.day.isoformat()], SEEN: [seen_of(day)]}
    for place, (staff, shift) in enumerate(_in_order(day)):
        values |= {f"p{place}_{name}": texts for name, texts in _person(day, staff, shift).items()}
    return values | _limits(day.limits)


def prefixes(typed: Entry) -> list[str]:
    """Answer with what the fields of each person in a form begin."""
    places = (f"p{place}_" for place in range(MOST_PEOPLE))
    return [prefix for prefix in places if f"{prefix}staff" in typed]


def groups(typed: Entry, name: str) -> list[str]:
    """Answer the groups of fields of a name that a form holds: `p0_break_1`, `p0_break_2`."""
    places = (f"{name}_{place}" for place in range(1, MOST_GROUPS + 1))
    return [one for one in places if f"{one}_from" in typed]


def seen_of(day: Day) -> str:
    """Answer a sign of everything that a form of this day shows, to tell whether it changed."""
    told = (
        day.shifts,
        [(one, sorted(work.beds), work.duties) for one, work in sorted(day.works.items())],
        [
            (one, trained.may_start, trained.may_second, sorted(trained.skills))
            for one, trained in sorted(day.trained.items())
        ],
        day.limits,
    )
    return sha256(repr(told).encode()).hexdigest()[:24]


def training_name(training: Training) -> str:
    """Answer the choice that stands for what somebody is trained for."""
    said = (training.may_start, training.may_second)
    return next(name for name, means in TRAINED.items() if means == said)


def usual_shift(day: Day, staff_id: str) -> Shift | None:
    """Answer the shift whose times somebody most likely has.

    Their last one of the week before; otherwise the one that most people had, the later of two.
    """
    own = [one for one in day.before if one.staff_id == staff_id]
    if own or not day.before:
        return own[-1] if own else None
    often = Counter(_times(one, day) for one in day.before)
    return max(day.before, key=lambda one: (often[_times(one, day)], one.starts_at))


def _times(shift: Shift, day: Day) -> tuple[str, str]:
    return wall(shift.starts_at, day), wall(shift.ends_at, day)


def wall(at: datetime, day: Day) -> str:
    """Answer an instant by the clock on the ward's wall, `07:00`."""
    return f"{at.astimezone(day.zone):%H:%M}"


def _in_order(day: Day) -> Iterator[tuple[Staff, Shift | None]]:
    """Who is on duty, by when they come; then everybody else by name."""
    nurses = {one.id: one for one in day.nurses}
    for shift in day.shifts:
        yield nurses[shift.staff_id], shift
    there = {shift.staff_id for shift in day.shifts}
    for nurse in day.nurses:
        if nurse.id not in there:
            yield nurse, None


def _person(day: Day, staff: Staff, shift: Shift | None) -> Values:
    timed = shift or usual_shift(day, staff.id)
    work = day.works.get(shift.id, ShiftWork()) if shift else ShiftWork()
    training = day.trained.get(staff.id, Training())
    values = {
        "staff": [staff.id],
        "shift": [shift.id if shift else ""],
        "on": ["true"] if shift else [],
        "from": [wall(timed.starts_at, day) if timed else ""],
        "until": [wall(timed.ends_at, day) if timed else ""],
        "beds": [", ".join(sorted(work.beds, key=natural))],
        "trained": [training_name(training)],
        "skills": [", ".join(sorted(training.skills))],
    }
    return values | _breaks(day, timed.breaks if timed else ()) | _duties(day, work)


def _breaks(day: Day, breaks: Iterable[Break]) -> Values:
    stretches = [(wall(one.starts_at, day), wall(one.ends_at, day)) for one in breaks]
    return _stretches("break", stretches)


def _duties(day: Day, work: ShiftWork) -> Values:
    listed = sorted(work.duties, key=lambda duty: duty.period)
    stretches = [(wall(one.period.from_at, day), wall(one.period.until_at, day)) for one in listed]
    names = [one.name for one in listed]
    names += [""] * (ROOM - len(names))
    named = {f"duty_{place}_name": [name] for place, name in enumerate(names, start=1)}
    return _stretches("duty", stretches) | named


def _limits(limits: WardLimits) -> Values:
    numbers = {
        name: ["" if (most := getattr(limits, name)) is None else str(most)]
        for name in ("most_starts", "porters", "issues_per_quarter")
    }
    words = {"night_rule": [limits.night_rule.value], "collected_by": [limits.collected_by.value]}
    return numbers | words | _stretches("handover", map(window_words, limits.handovers))


def window_words(window: WallWindow) -> tuple[str, str]:
    """Answer a window of the day as it is typed."""
    return _clock(window.from_time), _clock(window.until_time)


def _clock(at: time) -> str:
    return at.isoformat("minutes")


def _stretches(name: str, filled: Iterable[tuple[str, str]]) -> Values:
    """The fields of stretches of time, and room for as many as there always is."""
    listed = list(filled)
    listed += [("", "")] * (ROOM - len(listed))
    return {
        f"{name}_{place}_{end}": [text]
        for place, stretch in enumerate(listed, start=1)
        for end, text in zip(("from", "until"), stretch, strict=True)
    }


def staff_of(typed: Entry, names: Mapping[str, str], prefix: str) -> str:
    """Answer the name of the person whose fields begin so."""
    staff_id = typed.raw(f"{prefix}staff")
    return names.get(staff_id, staff_id)
