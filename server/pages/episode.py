"""The page of one unit, and the recording of every event from it."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from pydantic import StringConstraints

from server.pages.answers import PageRoute, attempt, done
from server.pages.episodes.desk import Sent
from server.pages.episodes.episode_view import Asked, EpisodeView, episode_view
from server.pages.episodes.record import ReadDrafts, read_form, read_press, record_once
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import ward_href
from server.pages.rendering import page, wants_part
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.read_episode import read_episode

router = APIRouter(route_class=PageRoute, include_in_schema=False)

Name = Annotated[str, Query(max_length=64)]
Id = Annotated[str, StringConstraints(max_length=64)]
Ids = Annotated[tuple[Id, ...], Query(max_length=8)]


@router.get("/episodes/{episode_id}")
def see_episode(
    request: Request, visitor: See, episode_id: str, step: Name = "", recorded: Ids = ()
) -> Response:
    """The page of a unit; `step` is the one to open, `recorded` what was stored a moment ago."""
    return _page(request, visitor, episode_id, Asked(step=step, recorded=recorded))


@router.get("/episodes/{episode_id}/standing")
def see_standing(request: Request, visitor: See, episode_id: str) -> Response:
    """How the unit stands, alone: the page puts it in place while somebody types below."""
    setting, view = _look(request, visitor, episode_id, Asked())
    head = head_of(visitor, setting, now_of(request), "")
    return page("episode/standing_part.html", episode=view, head=head)


@router.post("/episodes/{episode_id}/events")
def record(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record one event; a refused one answers the page with what was typed."""
    return _attempt(request, visitor, typed, episode_id, read_form)


@router.post("/episodes/{episode_id}/press")
def press(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record the facts of one press, all or none."""
    return _attempt(request, visitor, typed, episode_id, read_press)


def _attempt(
    request: Request, visitor: Visitor, typed: Entry, episode_id: str, read: ReadDrafts
) -> Response:
    def act() -> Response:
        return done(record_once(request, visitor, typed, episode_id, read))

    def again(wrong: Wrong) -> Response:
        sent = Sent(typed.raw("form_key"), typed, wrong)
        return _page(request, visitor, episode_id, Asked(sent=sent))

    return attempt(visitor, typed, act, again)


def _page(request: Request, visitor: Visitor, episode_id: str, asked: Asked) -> Response:
    setting, view = _look(request, visitor, episode_id, asked)
    return page(
        "episode/body.html" if wants_part(request) else "episode/episode.html",
        status=asked.sent.wrong.status if asked.sent else 200,
        head=head_of(visitor, setting, now_of(request), ""),
        episode=view,
        stray=_stray(view, asked.sent),
    )


def _look(
    request: Request, visitor: Visitor, episode_id: str, asked: Asked
) -> tuple[WardSetting, EpisodeView]:
    now = now_of(request)
    with request.app.state.store.read() as session:
        read = read_episode(session, visitor.actor, episode_id, now=now)
        staff = list_staff(session, visitor.actor, read.ward.id)
        setting = ward_setting(session, visitor.actor, now, read.ward.id)
    return setting, episode_view(read, staff, visitor, ward_href(read.ward.id, "board"), asked)


def _stray(view: EpisodeView, sent: Sent | None) -> dict[str, str]:
    """What is wrong with a form that the page does not show (any more)."""
    if sent is None:
        return {}
    shown = [form for step in view.steps for form in (*step.forms, *step.presses)]
    shown += [*view.record, *view.held_forms.values(), *view.void_forms.values()]
    shown += view.reaction.forms
    return {} if any(form.refused for form in shown) else sent.wrong.errors
