"""The page of one unit, and the recording of every event from it."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from pydantic import StringConstraints

from server.domain.audit import SubjectKind
from server.pages.answers import PageRoute, attempt, done
from server.pages.episodes.desk import Sent, stray_errors
from server.pages.episodes.episode_view import Asked, episode_view, standing_alone
from server.pages.episodes.past_page import past_page
from server.pages.episodes.record import Scene, Way, read_form, read_press, read_scene, record_once
from server.pages.forms.entry import Entry, Wrong
from server.pages.rendering import page, wants_part
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)

Name = Annotated[str, Query(max_length=64)]
Instant = Annotated[str, Query(max_length=40)]
Id = Annotated[str, StringConstraints(max_length=64)]
Ids = Annotated[tuple[Id, ...], Query(max_length=8)]


@router.get("/episodes/{episode_id}")
@shows(SubjectKind.EPISODE, "episode_id")
def see_episode(
    request: Request,
    visitor: See,
    episode_id: str,
    step: Name = "",
    recorded: Ids = (),
    at: Instant = "",
    known_at: Instant = "",
) -> Response:
    """The page of a unit; `step` is the one to open, `recorded` what was stored a moment ago.

    With `at` or `known_at` it stands still: the unit as it was, or as was known, then.
    """
    if at or known_at:
        return past_page(request, visitor, episode_id, {"at": at, "known_at": known_at})
    return _page(request, visitor, episode_id, Asked(step=step, recorded=recorded))


@router.get("/episodes/{episode_id}/standing")
@shows(SubjectKind.EPISODE, "episode_id")
def see_standing(request: Request, visitor: See, episode_id: str) -> Response:
    """How the unit stands, alone: the page puts it in place while somebody types below."""
    setting, scene = _look(request, visitor, episode_id)
    return page(
        "episode/standing_part.html",
        standing=standing_alone(scene.read, scene.staff, visitor),
        head=head_of(visitor, setting, scene.now, ""),
    )


@router.post("/episodes/{episode_id}/events")
def record(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record one event; a refused one answers the page with what was typed."""
    return _attempt(request, visitor, typed, episode_id, Way(read_form))


@router.post("/episodes/{episode_id}/press")
def press(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record the facts of one press, all or none."""
    return _attempt(request, visitor, typed, episode_id, Way(read_press))


def _attempt(
    request: Request, visitor: Visitor, typed: Entry, episode_id: str, way: Way
) -> Response:
    def act() -> Response:
        return done(record_once(request, visitor, typed, episode_id, way))

    def again(wrong: Wrong) -> Response:
        sent = Sent(typed.raw("form_key"), typed, wrong)
        return _page(request, visitor, episode_id, Asked(sent=sent))

    return attempt(visitor, typed, act, again)


def _page(request: Request, visitor: Visitor, episode_id: str, asked: Asked) -> Response:
    setting, scene = _look(request, visitor, episode_id)
    view = episode_view(scene.read, scene.staff, visitor, asked)
    return page(
        "episode/body.html" if wants_part(request) else "episode/episode.html",
        status=asked.sent.wrong.status if asked.sent else 200,
        head=head_of(visitor, setting, scene.now, ""),
        episode=view,
        stray=stray_errors(view.forms, asked.sent),
    )


def _look(request: Request, visitor: Visitor, episode_id: str) -> tuple[WardSetting, Scene]:
    now = now_of(request)
    with request.app.state.store.read() as session:
        scene = read_scene(session, visitor, episode_id, now)
        return ward_setting(session, visitor.actor, now, scene.read.ward.id), scene
