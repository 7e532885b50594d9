"""The bars of a line: what has run in, and what is still to run, each split at the finish limit."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.episode import Flow
from server.domain.picture import Picture
from server.pages.time_window import Window


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of the line, in per cent. kind: given, over (given past the limit), todo, beyond.

    `reach` is the stretch (from, to) in which the bar goes on as time does, None: it stands still.
    """

    kind: str
    x: float
    width: float
    reach: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch in which the infusion ran; `end` None: it still runs."""

    start: datetime
    end: datetime | None


def runs(flow: list[Flow]) -> list[Run]:
    """Answer the stretches with a rate above zero, in order."""
    found: list[Run] = []
    start: datetime | None = None
    for change in flow:
        if change.rate_ml_h is None:
            continue
        if change.rate_ml_h > 0:
            start = start or change.at
        elif start is not None:
            found.append(Run(start, change.at))
            start = None
    return found if start is None else [*found, Run(start, None)]


def bars(picture: Picture, window: Window) -> Iterator[Bar]:
    """Answer the bars of one unit, from left to right."""
    limit = picture.standing.finish_limit_at or window.end
    for run in runs(picture.episode.flow):
        if run.end is None:
            yield from _running(picture, window, run.start, limit)
        else:
            yield from _still(window, "given", run.start, min(run.end, limit))
            yield from _still(window, "over", max(run.start, limit), run.end)


def _still(window: Window, kind: str, start: datetime, end: datetime) -> Iterator[Bar]:
    cut = window.cut(start, end)
    if cut is not None:
        yield Bar(kind, cut[0], round(cut[1] - cut[0], 2))


def _running(picture: Picture, window: Window, start: datetime, limit: datetime) -> Iterator[Bar]:
    """The present run; without a projected end only what has run is drawn."""
    now, end = picture.standing.now, picture.infusion.projected_end_at
    last = window.end if end is None else max(end, now)
    for pair, cut in (
        (("given", "todo"), window.cut(start, min(last, limit))),
        (("over", "beyond"), window.cut(max(start, limit), last)),
    ):
        if cut is not None:
            kinds = pair if end is not None else pair[:1]
            yield from _growing(kinds, cut, window.x(now))


def _growing(kinds: tuple[str, ...], reach: tuple[float, float], now_x: float) -> Iterator[Bar]:
    """What has run up to now and what is to follow share one reach."""
    first, last = reach
    edge = max(first, min(last, now_x))
    places = ((first, edge), (edge, last))
    for kind, (x, to) in zip(kinds, places, strict=False):
        yield Bar(kind, x, round(to - x, 2), reach)
