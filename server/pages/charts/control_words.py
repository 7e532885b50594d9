"""A control chart in words and as a table."""

from collections.abc import Sequence
from typing import Final

from server.domain.review.control_chart import FEW, ControlChart, Point
from server.pages.charts.control_marks import Marked, Place
from server.pages.charts.frame import FigureTable
from server.pages.charts.units import Unit

NONE: Final = "–"


def described(
    chart: ControlChart, places: Sequence[Place], marked: Sequence[Marked], unit: Unit
) -> str:
    """Answer what the drawing shows, for whoever does not see it."""
    there = [at for at, point in enumerate(chart.points) if point.value is not None]
    if not there:
        return "There is no value to draw."
    last, place = chart.points[there[-1]], places[there[-1]]
    assert last.value is not None  # noqa: S101 - only places with a value come here
    said = with_figures(unit.write(last.value), place.figures)
    return " ".join(
        (
            f"{_counted(len(there))} from {places[there[0]].name} to {place.name}.",
            f"The last is {said}{_limits_said(last, unit)}.",
            " ".join(f"{one.letter}: {one.words}." for one in marked) or "No special cause.",
        )
    )


def _counted(many: int) -> str:
    return "1 value" if many == 1 else f"{many} values"


def _limits_said(point: Point, unit: Unit) -> str:
    if point.centre is None or point.low is None or point.high is None:
        return "; there are too few values for limits"
    centre, low, high = (unit.write(one) for one in (point.centre, point.low, point.high))
    return f"; the centre is {centre}, the limits {low} and {high}"


def with_figures(value: str, figures: str) -> str:
    """Answer a value with the numbers behind it, where there are any."""
    return f"{value} ({figures})" if figures else value


def note(chart: ControlChart, places: Sequence[Place]) -> str:
    """Answer what to mind while reading a chart; empty where there is nothing."""
    notes = []
    if chart.is_trial:
        notes.append(f"Limits from fewer than {FEW} values are a first try and will move.")
    if any(place.is_small for place in places):
        notes.append("Hollow: too few to judge by themselves.")
    return " ".join(notes)


def table(
    title: str,
    chart: ControlChart,
    places: Sequence[Place],
    marked: Sequence[Marked],
    unit: Unit,
) -> FigureTable:
    """Answer the numbers of a chart, a row for each place."""

    def written(figure: float | None) -> str:
        return NONE if figure is None else unit.write(figure)

    return FigureTable(
        caption=title,
        heads=("When", "Value", "Of", "Centre", "Lower limit", "Upper limit", "Signals"),
        rows=tuple(
            (
                place.name,
                written(point.value),
                place.figures or NONE,
                *(written(one) for one in (point.centre, point.low, point.high)),
                " ".join(one.letter for one in marked if at in one.places) or NONE,
            )
            for at, (point, place) in enumerate(zip(chart.points, places, strict=True))
        ),
    )
