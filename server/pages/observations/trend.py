"""The trend of each sign over the unit, with what happened to it: small pictures and one table."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from server.domain.assessment import Assessment
from server.domain.events import Event, sorted_live
from server.domain.news2 import News2
from server.domain.payloads import Observed
from server.domain.wording import to_fahrenheit
from server.domain.words import Kind
from server.pages.episodes.sentences import Speech, sentence, words_for
from server.pages.event_forms import FORMS
from server.pages.event_forms.read import FAHRENHEIT
from server.pages.event_forms.words import CONSCIOUSNESS, SYMPTOMS
from server.pages.observations.plot import Plot, Reading, Span, plot, staggered
from server.services.read_episode import EpisodeRead

LETTER: Final[dict[Kind, str]] = {
    Kind.STARTED: "S",
    Kind.RATE_SET: "R",
    Kind.PAUSED: "P",
    Kind.RESUMED: "C",
    Kind.REACTION_SUSPECTED: "!",
    Kind.STOPPED: "X",
    Kind.COMPLETED: "E",
}
MORE: Final = ("Oxygen", "Consciousness", "NEWS2", "Symptoms")
NEAR: Final = 13.0
ROWS: Final = 2
NONE: Final = "–"


@dataclass(frozen=True, slots=True)
class MarkView:
    """Something that happened to the unit: its letter in the pictures, its place and its words."""

    x: float
    row: int
    letter: str
    time: str
    words: str


@dataclass(frozen=True, slots=True)
class ChartView:
    """One sign: its picture, and in words what the picture shows."""

    key: str
    title: str
    unit: str
    drawn: Plot
    description: str


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of the table: a set with its signs in order, or what happened in `event`."""

    time: str
    signs: tuple[str, ...]
    event: str


@dataclass(frozen=True, slots=True)
class TrendView:
    """Everything about the trend."""

    charts: tuple[ChartView, ...]
    marks: tuple[MarkView, ...]
    heads: tuple[str, ...]
    rows: tuple[TableRow, ...]
    from_text: str
    to_text: str


@dataclass(frozen=True, slots=True)
class Sign:
    """How one sign is drawn: `least` is the smallest span of its scale, `ceiling` its end.

    `form` is how its figures are written.
    """

    key: str
    title: str
    unit: str
    least: float
    ceiling: float
    read: Callable[[Observed], float | None]
    form: str = "g"
    low: Callable[[Observed], float | None] = lambda _: None


def _signs(speech: Speech) -> tuple[Sign, ...]:
    warm = speech.temperature_unit == FAHRENHEIT
    return (
        Sign(
            "temperature",
            "Temperature",
            "°F" if warm else "°C",
            4 if warm else 2,
            115,
            lambda one: _temperature(one.temperature_c, warm=warm),
            form=".1f",
        ),
        Sign("pulse", "Pulse", "per min", 40, 400, lambda one: one.pulse_per_min),
        Sign(
            "respirations", "Respirations", "per min", 12, 200, lambda one: one.respirations_per_min
        ),
        Sign(
            "pressure",
            "Blood pressure",
            "mmHg",
            60,
            400,
            lambda one: one.systolic_mmhg,
            low=lambda one: one.diastolic_mmhg,
        ),
        Sign("spo2", "SpO₂", "%", 10, 100, lambda one: one.spo2_percent),
    )


def _temperature(celsius: float | None, *, warm: bool) -> float | None:
    if celsius is None:
        return None
    return round(to_fahrenheit(celsius) if warm else celsius, 1)


def trend_view(read: EpisodeRead, speech: Speech) -> TrendView | None:
    """Answer the trend of a unit, None while no set was taken."""
    sets = [event for event in read.observations if isinstance(event.payload, Observed)]
    if not sets:
        return None
    happened = [event for event in sorted_live(read.events) if event.kind in LETTER]
    span = _span(sets, happened)
    marks = _marks(happened, span, speech)
    charts = (_chart(sign, sets, span, speech) for sign in _signs(speech))
    return TrendView(
        charts=tuple(chart for chart in charts if chart is not None),
        marks=marks,
        heads=sign_heads(speech),
        rows=tuple(_rows(read.assessments, sets, happened, speech)),
        from_text=speech.time(span.start),
        to_text=speech.time(span.end),
    )


def sign_heads(speech: Speech) -> tuple[str, ...]:
    """Answer the heads of a table of sets, in the order of `sign_texts`, with the ward's units."""
    return (*(f"{sign.title}, {sign.unit}" for sign in _signs(speech)), *MORE)


def sign_texts(observed: Observed, assessment: Assessment, speech: Speech) -> tuple[str, ...]:
    """Answer one set as the cells of a table; a dash for what was not taken."""
    readings = (_reading_of(sign, observed) for sign in _signs(speech))
    conscious, scored = observed.consciousness, assessment.news2
    return (
        *(NONE if reading is None else reading[-1] for reading in readings),
        {None: NONE, True: "oxygen", False: "air"}[observed.on_oxygen],
        NONE if conscious is None else words_for(CONSCIOUSNESS, conscious),
        str(scored.score) if isinstance(scored, News2) else NONE,
        ", ".join(words_for(SYMPTOMS, one) for one in observed.symptoms) or NONE,
    )


def _span(sets: list[Event], happened: list[Event]) -> Span:
    instants = [event.happened_at for event in (*sets, *happened)]
    return Span(min(instants), max(instants))


def _marks(happened: list[Event], span: Span, speech: Speech) -> tuple[MarkView, ...]:
    places = [span.x(event.happened_at) for event in happened]
    return tuple(
        MarkView(x, row, LETTER[event.kind], speech.time(event.happened_at), _said(event, speech))
        for event, x, row in zip(happened, places, staggered(places, NEAR, ROWS), strict=True)
    )


def _said(event: Event, speech: Speech) -> str:
    word, said = FORMS[event.kind].word, sentence(event, speech)
    return f"{word}: {said}" if said else word


def _chart(sign: Sign, sets: list[Event], span: Span, speech: Speech) -> ChartView | None:
    readings = [
        reading for event in sets if (reading := _reading(sign, event, event.payload)) is not None
    ]
    if not readings:
        return None
    return ChartView(
        key=sign.key,
        title=sign.title,
        unit=sign.unit,
        drawn=plot(readings, span, sign.least, ceiling=sign.ceiling),
        description=_description(readings, speech),
    )


def _reading(sign: Sign, event: Event, observed: Any) -> Reading | None:
    read = _reading_of(sign, observed)
    return None if read is None else Reading(event.happened_at, *read)


def _reading_of(sign: Sign, observed: Observed) -> tuple[float, float | None, str] | None:
    """The value, its second figure and both in words; None for a sign that was not taken."""
    value = sign.read(observed)
    if value is None:
        return None
    low = sign.low(observed)
    return value, low, f"{value:{sign.form}}" if low is None else f"{value:g}/{low:g}"


def _description(readings: list[Reading], speech: Speech) -> str:
    said = [f"{one.text} at {speech.time(one.at)}" for one in readings]
    return f"{'; '.join(said)}."


def _rows(
    assessments: Iterable[Assessment], sets: list[Event], happened: list[Event], speech: Speech
) -> list[TableRow]:
    says = {one.event_id: one for one in assessments}
    rows = [(event.order, _event_row(event, speech)) for event in happened]
    rows += [(event.order, _set_row(event, says[event.id], speech)) for event in sets]
    return [row for _, row in sorted(rows, key=_order)]


def _order(row: tuple[tuple[datetime, datetime, int], TableRow]) -> tuple[datetime, datetime, int]:
    return row[0]


def _event_row(event: Event, speech: Speech) -> TableRow:
    return TableRow(speech.time(event.happened_at), (), _said(event, speech))


def _set_row(event: Event, assessment: Assessment, speech: Speech) -> TableRow:
    observed: Any = event.payload
    return TableRow(
        time=speech.time(event.happened_at),
        signs=sign_texts(observed, assessment, speech),
        event="",
    )
