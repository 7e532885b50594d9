"""The line: one unit as a stretch of time from removal to its finish limit, ready to be drawn.

Places are per cent of the window, so that a line is as wide as its column;
`web/templates/board/line.html` draws it. What reaches out of the window is cut and marked.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.episode import Episode
from server.domain.picture import Picture
from server.domain.wording import wall_time
from server.pages.line_bars import Bar, bars
from server.pages.line_marks import Mark, bar_marks, check_marks
from server.pages.line_words import line_words
from server.pages.time_window import Window

EDGE: Final = 95.0  # per cent: a centred label further right would be cut


@dataclass(frozen=True, slots=True)
class LineView:
    """One line. `span` is (from, to) in per cent, None when nothing of it is in sight.

    `limit_x` is None when the finish limit is out of sight; `limit_text` is its wall time even
    then. `anchor` says which end of the label stands at the limit.
    """

    words: str
    span: tuple[float, float] | None = None
    cut_left: bool = False
    cut_right: bool = False
    limit_x: float | None = None
    limit_text: str = ""
    anchor: str = "middle"
    bars: tuple[Bar, ...] = ()
    checks: tuple[Mark, ...] = ()
    marks: tuple[Mark, ...] = ()


def line_view(picture: Picture, window: Window) -> LineView:
    """Answer the line of one unit, seen from the picture's instant."""
    standing, episode = picture.standing, picture.episode
    origin, limit = _origin(episode), _limit(picture)
    words = line_words(picture)
    if origin is None:
        return LineView(words)
    until = _until(picture, limit)
    return LineView(
        words=words,
        span=window.cut(origin, until),
        cut_left=origin < window.start,
        cut_right=until > window.end,
        limit_x=window.x(limit) if limit is not None and window.shows(limit) else None,
        limit_text="" if limit is None else wall_time(limit, standing.zone),
        anchor="middle" if limit is None or window.x(limit) < EDGE else "end",
        bars=tuple(bars(picture, window)),
        checks=tuple(check_marks(picture, window)),
        marks=tuple(bar_marks(picture, window)),
    )


def _origin(episode: Episode) -> datetime | None:
    return episode.removed_at or episode.issued_at or episode.started_at


def _limit(picture: Picture) -> datetime | None:
    """The finish limit, of no meaning for a unit that left again unstarted."""
    episode = picture.episode
    gone = episode.started_at is None and episode.moved_at is not None
    return None if gone else picture.standing.finish_limit_at


def _until(picture: Picture, limit: datetime | None) -> datetime:
    """Where the line ends: a unit that went back ends there, any other at its limit or its end."""
    episode = picture.episode
    if episode.started_at is None and episode.moved_at is not None:
        return episode.moved_at
    ends = (limit, picture.infusion.projected_end_at, episode.ended_at)
    return max((end for end in ends if end is not None), default=picture.standing.now)
