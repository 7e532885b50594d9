"""A ward's own figures beside published ones, each with where it comes from."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from server.domain.review.audits import Audit, Measure
from server.domain.review.beside import Figures
from server.domain.review.share import Share
from server.pages.charts.units import percent

MEASURE: Final = {
    Measure.BASELINE_KEPT: "Baseline observations in time",
    Measure.FIRST_CHECK_KEPT: "First check in time",
    Measure.END_CHECK_KEPT: "End observations in time",
    Measure.END_CHECK_KEPT_AT_NIGHT: "End observations in time, units given at night",
    Measure.START_LATE: "Started late",
    Measure.FINISH_LATE_AT_NIGHT: "Finished late, units given at night",
    Measure.STARTED_AT_NIGHT: "Routine units started at night",
    Measure.REASSESSED: "Reassessed before the next unit",
}


@dataclass(frozen=True, slots=True)
class Beside:
    """One published figure with the ward's own."""

    measure: str
    own: str
    published: str
    source: str
    differs: str


def beside_lines(audits: Iterable[Audit], figures: Figures) -> tuple[Beside, ...]:
    """Answer a line for each published figure, those of one measure together."""
    order = list(Measure)
    listed = sorted(audits, key=lambda one: (order.index(one.measure), one.year))
    return tuple(_line(one, figures.own(one.measure)) for one in listed)


def _line(audit: Audit, own: Share) -> Beside:
    verified = "" if audit.verified else "; not read in the original"
    return Beside(
        measure=MEASURE[audit.measure],
        own=_own(own),
        published=_published(audit),
        source=f"{audit.place}, {audit.year}: {audit.source}{verified}",
        differs=audit.differs,
    )


def _own(own: Share) -> str:
    if own.part is None:
        return "none owed"
    doubt = ", too few to judge" if own.is_small else ""
    return f"{percent(own.part)} of {own.of}{doubt}"


def _published(audit: Audit) -> str:
    figure = percent(audit.low)
    if audit.high != audit.low:
        figure = f"{figure} to {percent(audit.high)}"
    many = "" if audit.of is None else f"{audit.of} "
    return f"{figure} of {many}{audit.of_what}"
