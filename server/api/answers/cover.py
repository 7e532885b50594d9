"""Cover on a ward, as answered."""

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.cover import Cover, Gap
from server.services.read_coverage import Coverage


class CoverAnswer(Given):
    """A cover; `ended_at` is set where it was ended, or gives way, before `until_at`."""

    id: str
    ward_id: str
    covering_id: str
    covered_id: str
    from_at: Moment
    until_at: Moment
    ended_at: Moment | None


class GapAnswer(Given):
    """Nobody is there for the units of `nurse_id`: `answering_id` is on a planned break."""

    nurse_id: str
    answering_id: str
    until_at: Moment


class CoverageAnswer(Given):
    """The covers in force or to come within a day, and the gaps at the instant `at`."""

    at: Moment
    ward_id: str
    covers: list[CoverAnswer]
    gaps: list[GapAnswer]


def cover_answer(cover: Cover) -> CoverAnswer:
    """A cover."""
    return CoverAnswer(
        id=cover.id,
        ward_id=cover.ward_id,
        covering_id=cover.covering_id,
        covered_id=cover.covered_id,
        from_at=cover.from_at,
        until_at=cover.until_at,
        ended_at=cover.ended_at,
    )


def coverage_answer(coverage: Coverage) -> CoverageAnswer:
    """The coverage of a ward."""
    return CoverageAnswer(
        at=coverage.at,
        ward_id=coverage.ward.id,
        covers=[cover_answer(one) for one in coverage.covers],
        gaps=[_gap(one) for one in coverage.gaps],
    )


def _gap(gap: Gap) -> GapAnswer:
    return GapAnswer(nurse_id=gap.nurse_id, answering_id=gap.answering_id, until_at=gap.until_at)
