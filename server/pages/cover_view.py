"""The coverage of a ward in words."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.cover import Cover, Gap
from server.domain.wording import dated_time
from server.pages.links import cover_end_href
from server.services.read_coverage import Coverage


@dataclass(frozen=True, slots=True)
class CoverRow:
    """One cover. `end_href` is empty where the person may not end it."""

    key: str
    covering: str
    covered: str
    from_text: str
    until_text: str
    in_force: bool
    end_href: str


@dataclass(frozen=True, slots=True)
class GapRow:
    """A nurse with units for whom nobody is there, as a sentence."""

    words: str


@dataclass(frozen=True, slots=True)
class CoverageView:
    """What stands on the page and, shorter, above the board."""

    rows: tuple[CoverRow, ...]
    gaps: tuple[GapRow, ...]


def coverage_view(coverage: Coverage, *, me: str | None, oversees: bool) -> CoverageView:
    """Answer the coverage for whoever looks: `me` may end what concerns them."""
    zone = ZoneInfo(coverage.ward.timezone)
    return CoverageView(
        rows=tuple(
            _row(one, coverage, zone, ends=oversees or me in (one.covering_id, one.covered_id))
            for one in coverage.covers
        ),
        gaps=tuple(GapRow(_gap(one, coverage, zone)) for one in coverage.gaps),
    )


def _row(cover: Cover, coverage: Coverage, zone: ZoneInfo, *, ends: bool) -> CoverRow:
    open_still = cover.ended_at is None
    return CoverRow(
        key=cover.id,
        covering=_name(coverage, cover.covering_id),
        covered=_name(coverage, cover.covered_id),
        from_text=_time(cover.from_at, coverage, zone),
        until_text=_time(cover.over_at, coverage, zone),
        in_force=cover.in_force(coverage.at),
        end_href=cover_end_href(cover.ward_id, cover.id) if ends and open_still else "",
    )


def _gap(gap: Gap, coverage: Coverage, zone: ZoneInfo) -> str:
    nurse, until = _name(coverage, gap.nurse_id), _time(gap.until_at, coverage, zone)
    if gap.answering_id == gap.nurse_id:
        return f"{nurse} is on a break until {until}, and nobody covers"
    answering = _name(coverage, gap.answering_id)
    return f"{answering}, who covers for {nurse}, is on a break until {until}"


def _name(coverage: Coverage, staff_id: str) -> str:
    return coverage.names.get(staff_id, staff_id)


def _time(instant: datetime, coverage: Coverage, zone: ZoneInfo) -> str:
    return dated_time(instant, zone, coverage.at)
