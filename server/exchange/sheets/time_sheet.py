"""How long units took from issue to start and to end, as a sheet: the whole curve, step by step."""

from collections.abc import Iterator
from typing import Final

from server.domain.review.proportion import Interval
from server.domain.review.survival import Curve, Step
from server.domain.review.times import Times
from server.exchange.sheets.common import COMPONENT_WORDS, Maker
from server.exchange.sheets.rate_sheet import ends, percent
from server.exchange.sheets.sheet import Cells, Column, Shape, Sheet

KAPLAN_MEIER: Final = (
    "Kaplan and Meier, J Am Stat Assoc 1958;53:457; Greenwood’s error; 95 % interval by log(-log)"
)
COLUMNS: Final = (
    Column("until", "From issue to", words={"start": "start", "end": "end"}),
    Column("of", "Of which units", words={**COMPONENT_WORDS, "all": "all"}),
    Column("median_minutes", "Median", Shape.NUMBER, "min", source=KAPLAN_MEIER),
    Column("p90_minutes", "90th percentile", Shape.NUMBER, "min", source=KAPLAN_MEIER),
    Column("minutes", "After", Shape.NUMBER, "min", note="Begun minutes count as whole ones"),
    Column("at_risk", "Not yet", Shape.NUMBER, "units", note="It had not happened just before"),
    Column("events", "Happened", Shape.NUMBER, "units"),
    Column(
        "censored",
        "Left out from then",
        Shape.NUMBER,
        "units",
        note="Sent back, discarded, or still waiting when the file was made",
    ),
    Column(
        "happened_percent",
        "Happened by then",
        Shape.NUMBER,
        "%",
        note="Of all units, those left out reckoned with",
        source=KAPLAN_MEIER,
    ),
    Column("low_percent", "From", Shape.NUMBER, "%", source=KAPLAN_MEIER),
    Column("high_percent", "To", Shape.NUMBER, "%", source=KAPLAN_MEIER),
)


def time_sheet(maker: Maker, to_start: Times, to_end: Times, only: tuple[str, ...]) -> Sheet:
    """The sheet of these times."""
    about = maker.about("Times from issue to start and from issue to end", only)
    rows = (
        row for name, times in (("start", to_start), ("end", to_end)) for row in _of(name, times)
    )
    return Sheet("times", about, COLUMNS, rows)


def _of(until: str, times: Times) -> Iterator[Cells]:
    yield from _curve(until, "all", times.whole)
    for component, curve in times.by_component.items():
        yield from _curve(until, component.value, curve)
    for hour, curve in enumerate(times.by_hour):
        yield from _curve(until, f"issued from {hour:02d}:00 to {hour:02d}:59", curve)


def _curve(until: str, which: str, curve: Curve) -> Iterator[Cells]:
    for step in curve.steps:
        yield (until, which, curve.median, curve.p90, *_step(step))


def _step(step: Step) -> Cells:
    still = step.interval
    happened = None if still is None else Interval(1 - still.high, 1 - still.low)
    return (
        step.minutes,
        step.at_risk,
        step.events,
        step.censored,
        percent(1 - step.survival),
        *ends(happened),
    )
