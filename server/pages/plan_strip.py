"""What lies ahead, in a strip beside the board: loads, next calls, and whether the plan holds.

It is read when the ward has changed or a minute has passed, and kept for everybody who asks.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from server.domain.audit import SubjectKind
from server.domain.wording import COMPONENT, span, wall_time
from server.domain.workload.load import PersonLoad
from server.pages.answers import PageRoute
from server.pages.boards.kept import kept_boards
from server.pages.links import plan_href
from server.pages.plan import PATH
from server.pages.rendering import HEADERS, render
from server.pages.visitors import See, now_of
from server.services.permissions import Act, require
from server.services.read_ahead import AHEAD, Ahead, Call, read_ahead
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)

MOST_CALLS: Final = 3
_MINUTE: Final = 60


@dataclass(frozen=True, slots=True)
class LoadBar:
    """How much of the time ahead somebody is busy; `share` in per cent, `words` say it whole."""

    name: str
    share: int
    minutes: int
    over: bool
    words: str


@dataclass(frozen=True, slots=True)
class StripView:
    """The strip. `more_calls` are those beyond the ones that are named."""

    href: str
    has_plan: bool
    bars: tuple[LoadBar, ...]
    calls: tuple[str, ...]
    more_calls: int
    broken: tuple[str, ...]


@router.get(f"{PATH}/strip")
@shows(SubjectKind.PLAN, ward="ward_id")
def see_strip(request: Request, visitor: See, ward_id: str) -> Response:
    """The strip alone: the board puts it in place."""
    require(visitor.actor, Act.READ, ward_id)
    app, now = request.app, now_of(request)
    moment, kept = kept_boards(app).moment(ward_id, now), _kept(app)
    known = kept.get(ward_id)
    if known is None or known[0] != moment:
        with app.state.store.read() as session:
            ahead = read_ahead(session, visitor.actor, ward_id, now=now)
        known = kept[ward_id] = moment, render("plan/strip.html", strip=strip_view(ahead, ward_id))
    return HTMLResponse(known[1], headers=dict(HEADERS))


def _kept(app: Any) -> dict[str, tuple[object, str]]:
    """The strips of an application, by ward, each with the moment that it shows."""
    known: dict[str, tuple[object, str]] | None = getattr(app.state, "kept_strips", None)
    if known is None:
        known = app.state.kept_strips = {}
    return known


def strip_view(ahead: Ahead, ward_id: str) -> StripView:
    """Answer the strip of what lies ahead."""
    bars = [_bar(one, ahead.names) for one in ahead.people]
    return StripView(
        href=plan_href(ward_id),
        has_plan=ahead.has_plan,
        bars=tuple(sorted(bars, key=lambda bar: bar.name)),
        calls=tuple(_call(one, ahead) for one in ahead.calls[:MOST_CALLS]),
        more_calls=max(0, len(ahead.calls) - MOST_CALLS),
        broken=ahead.broken,
    )


def _bar(one: PersonLoad, names: Mapping[str, str]) -> LoadBar:
    name, minutes = names.get(one.staff_id, one.staff_id), _minutes(one.work)
    share = min(100, round(100 * (one.work / AHEAD)))
    over = f", {span(_minutes(one.over))} more than they can do" if one.over else ""
    words = f"{name}: {span(minutes)} of work, {span(_minutes(one.there))} there{over}"
    return LoadBar(name, share, minutes, bool(one.over), words)


def _call(one: Call, ahead: Ahead) -> str:
    at: datetime = one.at
    late = ", planned and passed" if at < ahead.at else ""
    return f"{wall_time(at, ahead.zone)} bed {one.bed}, {COMPONENT[one.component].lower()}{late}"


def _minutes(length: Any) -> int:
    return int(length.total_seconds()) // _MINUTE
