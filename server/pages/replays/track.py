"""What happened in a span, as marks in three lanes, and the way from one to the next."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final

from server.domain.clock import SECOND
from server.domain.wording import CLOCK
from server.domain.words import ClockName, ClockState, Kind, Stage
from server.pages.event_forms import FORMS
from server.pages.replays.asked import NOW, Asked
from server.pages.replays.spans import Span
from server.store.happenings import Happening, Sort

NEAR: Final = 6
"""How many happenings are told before the instant, and how many after it."""

LANES: Final = ((Sort.FACT, "Charted"), (Sort.CROSSING, "Due or passed"), (Sort.REMINDER, "Said"))
STEPS: Final = (
    (-60, "1 h earlier"),
    (-10, "10 min earlier"),
    (-1, "1 min earlier"),
    (1, "1 min later"),
    (10, "10 min later"),
    (60, "1 h later"),
)
CROSSED: Final = {ClockState.DUE.value: "due", ClockState.OVERDUE.value: "limit passed"}
SAID: Final = {
    Stage.NOTICE.value: "said ahead",
    Stage.DUE.value: "said when due",
    Stage.OVERDUE.value: "said at the limit",
    Stage.ESCALATE.value: "escalated",
    Stage.SECOND_ESCALATE.value: "escalated again",
}
CAME: Final = {Sort.CROSSING: CROSSED, Sort.REMINDER: SAID}


@dataclass(frozen=True, slots=True)
class Told:
    """One happening in words with the address of its instant; `place` is before, at or after."""

    href: str
    time: str
    words: str
    place: str


@dataclass(frozen=True, slots=True)
class Step:
    """A way to another instant; an empty `href`: there is none."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class Track:
    """The slider's ground: lanes of places in per cent, hours, steps, and what is near."""

    lanes: tuple[tuple[str, str, tuple[float, ...]], ...]
    hours: tuple[tuple[float, str], ...]
    x: float
    steps: tuple[Step, ...]
    before: Step
    after: Step
    near: tuple[Told, ...]
    count: int


def track_of(
    asked: Asked, span: Span, happened: Iterable[Happening], zone: tzinfo, now: datetime
) -> Track:
    """Answer the track of a span.

    What was charted stands when the ward learnt of it, or, by what is known now, when it happened.
    """
    listed = sorted(
        ((_at(one, asked), one) for one in happened), key=lambda pair: (pair[0], pair[1].sort)
    )
    listed = [pair for pair in listed if span.start <= pair[0] < span.end]
    instants = [at for at, _ in listed]
    first, last = bisect_left(instants, asked.at), bisect_right(instants, asked.at)
    return Track(
        lanes=tuple((sort.value, words, _places(listed, sort, span)) for sort, words in LANES),
        hours=_hours(span, zone),
        x=span.x(asked.at),
        steps=tuple(_step(asked, minutes, words, now) for minutes, words in STEPS),
        before=_jump(asked, "Previous event", instants[:first][-1:]),
        after=_jump(asked, "Next event", instants[last:][:1]),
        near=tuple(
            _told(asked, at, one, zone) for at, one in listed[max(0, first - NEAR) : last + NEAR]
        ),
        count=len(listed),
    )


def _at(one: Happening, asked: Asked) -> datetime:
    """From which second on a screen shows it: a limit is passed a second after it."""
    if one.came == ClockState.OVERDUE.value and one.sort is Sort.CROSSING:
        return one.happened_at + SECOND
    return one.happened_at if asked.known == NOW else one.recorded_at


def _places(
    listed: Sequence[tuple[datetime, Happening]], sort: Sort, span: Span
) -> tuple[float, ...]:
    """Where a sort happened, to the tenth of a per cent, each place once."""
    return tuple(dict.fromkeys(round(span.x(at), 1) for at, one in listed if one.sort is sort))


def _hours(span: Span, zone: tzinfo) -> tuple[tuple[float, str], ...]:
    """The whole hours of the ward, every third of a long span; with the zone where it changes."""
    every = 3 if span.end - span.start > timedelta(hours=8) else 1
    at = span.start.replace(minute=0, second=0)
    marks: list[tuple[float, datetime]] = []
    while at <= span.end:
        local = at.astimezone(zone)
        if at >= span.start and local.minute == 0 and local.hour % every == 0:
            marks.append((span.x(at), local))
        at += timedelta(minutes=15)
    one_zone = len({local.utcoffset() for _, local in marks}) <= 1
    return tuple((x, f"{local:%H:%M}" if one_zone else f"{local:%H:%M %Z}") for x, local in marks)


def _step(asked: Asked, minutes: int, words: str, now: datetime) -> Step:
    at = asked.at + timedelta(minutes=minutes)
    return Step(words, asked.but(at=at) if at <= now else "")


def _jump(asked: Asked, words: str, to: Sequence[datetime]) -> Step:
    return Step(words, asked.but(at=to[0]) if to else "")


def _told(asked: Asked, at: datetime, one: Happening, zone: tzinfo) -> Told:
    place = "at" if at == asked.at else "before" if at < asked.at else "after"
    time = f"{at.astimezone(zone):%H:%M:%S}"
    return Told(asked.but(at=at), time, f"Bed {one.bed}: {_words(one, zone)}", place)


def _words(one: Happening, zone: tzinfo) -> str:
    if one.sort in CAME:
        return f"{_small(CLOCK[ClockName(one.word)])}, {CAME[one.sort][one.came]}"
    word = _small(FORMS[Kind(one.word)].word)
    if one.recorded_at - one.happened_at < timedelta(minutes=1):
        return word
    done, charted = (f"{at.astimezone(zone):%H:%M}" for at in (one.happened_at, one.recorded_at))
    return f"{word}, done {done}, charted {charted}"


def _small(words: str) -> str:
    return f"{words[0].lower()}{words[1:]}"
