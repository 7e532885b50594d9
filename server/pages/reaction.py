"""The page of a suspected reaction, and the recording of it."""

from datetime import datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query, Request, Response

from server.domain.payloads import ReactionStep
from server.pages.answers import PageRoute, attempt, done
from server.pages.episodes.desk import Sent
from server.pages.episodes.reaction_page import AskedReaction, ReactionPage, reaction_page
from server.pages.episodes.record import Scene, read_form
from server.pages.episodes.sentences import Speech
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.once import once
from server.pages.links import reaction_href
from server.pages.rendering import page, wants_part
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.read_episode import EpisodeRead, read_episode
from server.services.read_linked import read_linked
from server.services.record_event import Draft, record_event
from server.services.record_reaction_step import record_reaction_step
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

Names = Annotated[tuple[str, ...], Query(max_length=8)]
Name = Annotated[str, Query(max_length=64)]


@router.get("/episodes/{episode_id}/reaction")
def see_reaction(
    request: Request, visitor: See, episode_id: str, recorded: Names = (), form: Name = ""
) -> Response:
    """The page; `recorded` is what was stored a moment ago, `form` the kind whose form is open."""
    return _page(request, visitor, episode_id, AskedReaction(recorded=recorded, opened=form))


@router.get("/episodes/{episode_id}/reaction/standing")
def see_standing(request: Request, visitor: See, episode_id: str) -> Response:
    """What is done and what is owed, alone: the page puts it in place while somebody types."""
    setting, view = _look(request, visitor, episode_id, AskedReaction())
    head = head_of(visitor, setting, now_of(request), "")
    return page("reaction/now.html", reaction=view, head=head)


@router.post("/episodes/{episode_id}/reaction")
def record(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record a suspicion, a step, a set of signs or the closing, and come back to the page."""

    def act() -> Response:
        return done(_record_once(request, visitor, typed, episode_id))

    def again(wrong: Wrong) -> Response:
        sent = Sent(typed.raw("form_key"), typed, wrong)
        return _page(request, visitor, episode_id, AskedReaction(sent=sent))

    return attempt(visitor, typed, act, again)


def _record_once(request: Request, visitor: Visitor, typed: Entry, episode_id: str) -> str:
    now, store = now_of(request), request.app.state.store
    with store.read() as session:
        read, staff = _read(session, visitor, episode_id, now)
    (draft,) = read_form(typed, Scene(read, staff, now))

    def write(session: WriteSession) -> str:
        ids = _record(session, visitor, episode_id, draft, now)
        said = "&".join(f"recorded={event_id}" for event_id in ids)
        return f"{reaction_href(episode_id)}?{said}"

    with store.write() as session:
        path = request.url.path
        return once(session, visitor.actor, typed, lambda: write(session), path=path, now=now)


def _record(
    session: WriteSession, visitor: Visitor, episode_id: str, draft: Draft, now: datetime
) -> list[str]:
    """Record the fact; answers its id, and that of the pause which comes with "stop"."""
    if not isinstance(draft.payload, ReactionStep):
        return [record_event(session, visitor.actor, episode_id, draft, now=now).event_id]
    at = draft.happened_at
    ticked = record_reaction_step(
        session, visitor.actor, episode_id, draft.payload, happened_at=at, now=now
    )
    return [one.event_id for one in (ticked.step, ticked.pause) if one is not None]


def _page(request: Request, visitor: Visitor, episode_id: str, asked: AskedReaction) -> Response:
    setting, view = _look(request, visitor, episode_id, asked)
    return page(
        "reaction/body.html" if wants_part(request) else "reaction/reaction.html",
        status=asked.sent.wrong.status if asked.sent else 200,
        head=head_of(visitor, setting, now_of(request), ""),
        reaction=view,
        stray=_stray(view, asked.sent),
    )


def _look(
    request: Request, visitor: Visitor, episode_id: str, asked: AskedReaction
) -> tuple[WardSetting, ReactionPage]:
    now, store = now_of(request), _store(request)
    with store.read() as session:
        read, staff = _read(session, visitor, episode_id, now)
        setting = ward_setting(session, visitor.actor, now, read.ward.id)
        linked = (
            read_linked(session, visitor.actor, read.ward.id, episode_id, now=now)
            if any(one.identity_error for one in read.picture.episode.reactions)
            else ()
        )
    speech = _speech(read, staff)
    return setting, reaction_page(read, staff, visitor, speech, linked, asked)


def _store(request: Request) -> Any:
    return request.app.state.store


def _read(
    session: ReadSession, visitor: Visitor, episode_id: str, now: datetime
) -> tuple[EpisodeRead, tuple[Staff, ...]]:
    read = read_episode(session, visitor.actor, episode_id, now=now)
    return read, tuple(list_staff(session, visitor.actor, read.ward.id))


def _speech(read: EpisodeRead, staff: tuple[Staff, ...]) -> Speech:
    return Speech(
        zone=ZoneInfo(read.ward.timezone),
        temperature_unit=read.ward.temperature_unit,
        names={one.id: one.name for one in staff} | dict(read.names),
        now=read.at,
    )


def _stray(view: ReactionPage, sent: Sent | None) -> dict[str, str]:
    """What is wrong with a form that the page does not show (any more)."""
    if sent is None or any(form.refused for form in view.forms):
        return {}
    return sent.wrong.errors
