"""The page of a suspected reaction, and the recording of it."""

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.domain.payloads import ReactionStep
from server.pages.answers import PageRoute, attempt, done
from server.pages.episodes.desk import Sent, stray_errors
from server.pages.episodes.reaction_page import AskedReaction, ReactionPage, reaction_page
from server.pages.episodes.record import Way, read_form, read_scene, record_once
from server.pages.forms.entry import Wrong
from server.pages.links import reaction_href
from server.pages.rendering import page, wants_part
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.services.actor import Actor
from server.services.cases import CaseRead
from server.services.read_linked import read_linked
from server.services.record_event import Draft, Recorded
from server.services.record_reaction_step import record_reaction_step
from server.services.record_together import record_together
from server.services.shown import shows
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

Names = Annotated[tuple[str, ...], Query(max_length=8)]
Name = Annotated[str, Query(max_length=64)]


@router.get("/episodes/{episode_id}/reaction")
@shows(SubjectKind.REACTION, "episode_id")
def see_reaction(
    request: Request, visitor: See, episode_id: str, recorded: Names = (), form: Name = ""
) -> Response:
    """The page; `recorded` is what was stored a moment ago, `form` the kind whose form is open."""
    return _page(request, visitor, episode_id, AskedReaction(recorded=recorded, opened=form))


@router.get("/episodes/{episode_id}/reaction/standing")
@shows(SubjectKind.REACTION, "episode_id")
def see_standing(request: Request, visitor: See, episode_id: str) -> Response:
    """What is done and what is owed, alone: the page puts it in place while somebody types."""
    setting, view = _look(request, visitor, episode_id, AskedReaction())
    head = head_of(visitor, setting, now_of(request), "")
    return page("reaction/now.html", reaction=view, head=head)


@router.post("/episodes/{episode_id}/reaction")
def record(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record a suspicion, a step, a set of signs or the closing, and come back to the page."""

    def act() -> Response:
        return done(record_once(request, visitor, typed, episode_id, WAY))

    def again(wrong: Wrong) -> Response:
        sent = Sent(typed.raw("form_key"), typed, wrong)
        return _page(request, visitor, episode_id, AskedReaction(sent=sent))

    return attempt(visitor, typed, act, again)


def _store(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    drafts: Sequence[Draft],
    *,
    now: datetime,
    ahead: CaseRead | None,
) -> tuple[Recorded, ...]:
    """Store the one fact of a form, and what a step does to the unit with it."""
    (draft,) = drafts
    if not isinstance(draft.payload, ReactionStep):
        return record_together(session, actor, episode_id, drafts, now=now, ahead=ahead)
    at = draft.happened_at
    ticked = record_reaction_step(
        session, actor, episode_id, draft.payload, happened_at=at, now=now, ahead=ahead
    )
    return tuple(one for one in (ticked.step, ticked.effect) if one is not None)


WAY: Final = Way(read_form, _store, reaction_href)


def _page(request: Request, visitor: Visitor, episode_id: str, asked: AskedReaction) -> Response:
    setting, view = _look(request, visitor, episode_id, asked)
    return page(
        "reaction/body.html" if wants_part(request) else "reaction/reaction.html",
        status=asked.sent.wrong.status if asked.sent else 200,
        head=head_of(visitor, setting, now_of(request), ""),
        reaction=view,
        stray=stray_errors(view.forms, asked.sent),
    )


def _look(
    request: Request, visitor: Visitor, episode_id: str, asked: AskedReaction
) -> tuple[WardSetting, ReactionPage]:
    now = now_of(request)
    with request.app.state.store.read() as session:
        scene = read_scene(session, visitor, episode_id, now)
        read = scene.read
        setting = ward_setting(session, visitor.actor, now, read.ward.id)
        linked = (
            read_linked(session, visitor.actor, read.ward.id, episode_id, now=now)
            if any(one.identity_error for one in read.picture.episode.reactions)
            else ()
        )
    return setting, reaction_page(read, scene.staff, visitor, linked, asked)
