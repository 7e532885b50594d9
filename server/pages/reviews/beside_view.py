"""A ward's own figures beside published ones, with what each of them counts."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.audits import Audit, Measure
from server.pages.charts.units import percents
from server.pages.reviews.words import share_words
from server.services.review_period import Review

MEASURE: Final[dict[Measure, str]] = {
    Measure.BASELINE_KEPT: "Baseline observations in time",
    Measure.FIRST_CHECK_KEPT: "First check in time",
    Measure.END_CHECK_KEPT: "End observations in time",
    Measure.END_CHECK_KEPT_AT_NIGHT: "End observations in time, units begun at night",
    Measure.START_LATE: "Started late",
    Measure.FINISH_LATE_AT_NIGHT: "Past the finish limit, units begun at night",
    Measure.STARTED_AT_NIGHT: "Routine units begun at night",
    Measure.REASSESSED: "Reassessed before the next unit of red cells",
}


@dataclass(frozen=True, slots=True)
class PublishedRow:
    """One published figure: the figure, what it is of, what was counted, and where it stands."""

    figure: str
    of: str
    counted: str
    source: str


@dataclass(frozen=True, slots=True)
class BesideRow:
    """One measure: the ward's own figure in words, how it is counted, and the published ones."""

    name: str
    own: str
    differs: tuple[str, ...]
    published: tuple[PublishedRow, ...]


def beside_view(review: Review, audits: Sequence[Audit]) -> tuple[BesideRow, ...]:
    """Make ready every measure of which a published figure is known."""
    found = {measure: [one for one in audits if one.measure is measure] for measure in Measure}
    return tuple(
        BesideRow(
            name=MEASURE[measure],
            own=_own(review, measure),
            differs=tuple(dict.fromkeys(one.differs for one in theirs)),
            published=tuple(_row(one) for one in theirs),
        )
        for measure, theirs in found.items()
        if theirs
    )


def _own(review: Review, measure: Measure) -> str:
    own = review.figures.own(measure)
    if measure is Measure.REASSESSED and own.of and not own.count:
        return f"not recorded after any of {own.of}; the step is on the page of a unit that ended"
    return share_words(own)


def _row(audit: Audit) -> PublishedRow:
    read = audit.read if audit.verified else f"{audit.read}; not verified"
    return PublishedRow(
        figure=percents(audit.low, audit.high),
        of=f"{_of(audit)}, {audit.place}, {audit.year}",
        counted=audit.counted,
        source=f"{audit.source} (read: {read})",
    )


def _of(audit: Audit) -> str:
    if audit.count is not None and audit.of is not None:
        return f"({audit.count} of {audit.of}) of {audit.of_what}"
    return f"of {audit.of_what}" if audit.of is None else f"of {audit.of} {audit.of_what}"
