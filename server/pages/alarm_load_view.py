"""The load of reminders, ready to be shown: a sentence, tables, and bars in user units."""

from dataclasses import dataclass
from typing import Final

from server.domain.alarm_load import AlarmLoad, ShiftLoad, Spread, Tally
from server.domain.alarm_outcomes import Outcome
from server.domain.wording import CLOCK
from server.domain.words import Stage
from server.services.read_alarm_load import WardLoad

STAGE: Final[dict[tuple[Stage, bool], str]] = {
    (Stage.NOTICE, False): "Notice before due",
    (Stage.DUE, False): "Due",
    (Stage.OVERDUE, False): "At the limit",
    (Stage.OVERDUE, True): "Repeats",
    (Stage.ESCALATE, False): "Escalated",
    (Stage.SECOND_ESCALATE, False): "Escalated again",
}
OUTCOME: Final[dict[Outcome, tuple[str, str]]] = {
    Outcome.USEFUL: (
        "Useful",
        "done, or taken with “I have it”, within {within} min and before the next stage",
    ),
    Outcome.LATER: ("Answered later", "the same before the next stage, but after {within} min"),
    Outcome.IGNORED: ("Ignored", "neither done nor taken before the next stage came"),
    Outcome.MET_BEFORE: (
        "Done before",
        "done at the bedside before it was raised, and charted afterwards",
    ),
    Outcome.LAPSED: (
        "Fell away",
        "nothing was owed any more, as a unit that was started need not go back",
    ),
    Outcome.OPEN: ("Still open", "it calls still"),
    Outcome.QUIET: (
        "Quiet",
        "it called nobody: somebody had it already, or a later stage came in the same moment",
    ),
}
OVERLAPPING: Final = (
    ("Taken", "somebody said “I have it” before the next stage"),
    ("Escalated", "raised to whom the policy names when nobody has answered"),
)
DRAWN: Final = (Outcome.USEFUL, Outcome.LATER, Outcome.IGNORED)
HEIGHT: Final = 80.0
WIDTH: Final = 100.0


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a bar: its class, where it begins and how long it is, in user units."""

    name: str
    start: float
    length: float


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One row of a table: its name, the number of each column, and its share as a bar."""

    name: str
    numbers: tuple[int, ...]
    bar: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class HourView:
    """One hour of the ward's day: calls, those ignored, and the two heights of its column."""

    text: str
    called: int
    ignored: int
    height: float
    ignored_height: float


@dataclass(frozen=True, slots=True)
class LoadView:
    """The page. `columns` are the heads of the numbers, `words` what each of them means."""

    summary: str
    columns: tuple[str, ...]
    words: tuple[tuple[str, str], ...]
    by_clock: tuple[LoadRow, ...]
    by_stage: tuple[LoadRow, ...]
    hours: tuple[HourView, ...]
    busiest: int
    hours_text: str
    units_text: str
    shifts: tuple[tuple[str, Spread], ...]


def load_view(found: WardLoad) -> LoadView:
    """Answer the page of a period."""
    load, within = found.load, int(found.useful_within.total_seconds() // 60)
    meant = ((name, text.format(within=within)) for name, text in OUTCOME.values())
    most = max(tally.called for tally in load.hours)
    return LoadView(
        summary=_summary(load.total),
        columns=("Raised", *(name for name, _ in (*OUTCOME.values(), *OVERLAPPING))),
        words=(*meant, *OVERLAPPING),
        by_clock=tuple(_row(CLOCK[key], tally) for key, tally in load.by_clock.items()),
        by_stage=tuple(
            _row(words, load.by_stage[key]) for key, words in STAGE.items() if key in load.by_stage
        ),
        hours=tuple(_hour(hour, tally, most) for hour, tally in enumerate(load.hours)),
        busiest=most,
        hours_text=_hours_text(load, most),
        units_text=_units_text(load.units),
        shifts=tuple(_shift(one) for one in load.shifts),
    )


def _summary(total: Tally) -> str:
    if not total.raised:
        return ""
    many = "1 reminder was" if total.raised == 1 else f"{total.raised} reminders were"
    share = f" ({round(100 * total.useful / total.called)} in 100)" if total.called else ""
    return (
        f"{many} raised, and {total.called} called somebody: {total.useful} useful{share}, "
        f"{total.later} answered later, {total.ignored} ignored, {total.escalated} escalated."
    )


def _row(name: str, tally: Tally) -> LoadRow:
    counts = (getattr(tally, outcome) for outcome in OUTCOME)
    numbers = (tally.raised, *counts, tally.acknowledged, tally.escalated)
    return LoadRow(name, numbers, _bar(tally))


def _bar(tally: Tally) -> tuple[Part, ...]:
    """Useful, answered later and ignored as shares of what called."""
    parts, start = [], 0.0
    for outcome in DRAWN:
        length = WIDTH * getattr(tally, outcome) / tally.called if tally.called else 0.0
        if length:
            parts.append(Part(outcome, round(start, 2), round(length, 2)))
        start += length
    return tuple(parts)


def _hour(hour: int, tally: Tally, most: int) -> HourView:
    unit = HEIGHT / most if most else 0.0
    heights = (round(tally.called * unit, 1), round(tally.ignored * unit, 1))
    return HourView(f"{hour:02d}", tally.called, tally.ignored, *heights)


def _hours_text(load: AlarmLoad, most: int) -> str:
    """What the drawing shows, in a sentence."""
    if not most:
        return ""
    hour = next(hour for hour, tally in enumerate(load.hours) if tally.called == most)
    return f"Most calls came from {hour:02d}:00 to {hour:02d}:59: {most}."


def _units_text(units: Spread) -> str:
    if not units.among:
        return "No unit was live."
    many = "1 unit was" if units.among == 1 else f"{units.among} units were"
    calls = "1 call" if units.total == 1 else f"{units.total} calls"
    return f"{many} live, with {calls}: {units.middle:g} for the middle unit, at most {units.most}."


def _shift(load: ShiftLoad) -> tuple[str, Spread]:
    return load.begins, load.spread
