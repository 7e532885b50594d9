"""The page of one breach: what was shown and said then, why, and the cause that somebody gives."""

from dataclasses import replace
from typing import Annotated, Final

from fastapi import APIRouter, Path, Query, Request, Response
from pydantic import StringConstraints

from server.domain.audit import SubjectKind
from server.domain.clock import SECOND
from server.domain.errors import Invalid
from server.domain.words import ClockName, Kind
from server.pages.answers import PageRoute, attempt, done
from server.pages.breach_pages.breach_view import breach_view
from server.pages.breaches_why import why_view
from server.pages.episodes.desk import Sent, stray_errors
from server.pages.episodes.make_desk import make_desk, speech_of
from server.pages.episodes.record import Scene, Way, read_form, record_once
from server.pages.event_forms.causing import breach_key
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import breach_href
from server.pages.refusals import FORM
from server.pages.rendering import page
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.explain_breach import explain_breach
from server.services.read_breach import read_breach
from server.services.record_event import Draft
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)

ABOUT_A_CAUSE: Final = frozenset({Kind.CAUSE_GIVEN.value, Kind.VOIDED.value})
NOT_HERE: Final = "Only a cause is recorded here; everything else on the page of the unit."

Number = Annotated[int, Path(ge=1, le=100_000)]
Id = Annotated[str, StringConstraints(max_length=64)]
Ids = Annotated[tuple[Id, ...], Query(max_length=64)]


@router.get("/episodes/{episode_id}/breaches/{clock}/{n}")
@shows(SubjectKind.EPISODE, "episode_id")
def see_breach(
    request: Request,
    visitor: See,
    episode_id: str,
    clock: ClockName,
    n: Number,
    recorded: Ids = (),
) -> Response:
    """One limit that was not kept; `recorded` is what was stored a moment ago."""
    return _page(request, visitor, (episode_id, clock, n), recorded=recorded)


@router.post("/episodes/{episode_id}/breaches/{clock}/{n}")
def give_cause(
    request: Request, visitor: See, typed: Typed, episode_id: str, clock: ClockName, n: Number
) -> Response:
    """Give a cause, or take one back; a refused form answers the page with what was typed."""
    of = (episode_id, clock, n)

    def act() -> Response:
        way = Way(_read, href=lambda _: breach_href(*of))
        return done(record_once(request, visitor, typed, episode_id, way))

    def again(wrong: Wrong) -> Response:
        return _page(request, visitor, of, sent=Sent(typed.raw("form_key"), typed, wrong))

    return attempt(visitor, typed, act, again)


def _read(typed: Entry, scene: Scene) -> list[Draft]:
    if typed.raw("kind") not in ABOUT_A_CAUSE:
        raise Invalid(FORM, NOT_HERE)
    return read_form(typed, scene)


def _page(
    request: Request,
    visitor: Visitor,
    of: tuple[str, ClockName, int],
    *,
    sent: Sent | None = None,
    recorded: tuple[str, ...] = (),
) -> Response:
    now, actor = now_of(request), visitor.actor
    with request.app.state.store.read() as session:
        breach = read_breach(session, actor, *of, now=now)
        why = why_view(explain_breach(session, actor, *of, now=now))
        staff = list_staff(session, actor, breach.read.ward.id)
        setting = ward_setting(session, actor, now, breach.read.ward.id)
    speech = replace(speech_of(breach.read, staff), names=breach.names)
    desk = make_desk(breach.read, staff, visitor, speech, sent)
    ticked = {Kind.CAUSE_GIVEN: {"clock": breach_key(of[1], of[2])}}
    desk = replace(desk, href=breach_href(*of), defaults=ticked)
    view = breach_view(breach, desk, speech, replace(speech, now=breach.passed_at - SECOND))
    return page(
        "breaches/breach.html",
        status=sent.wrong.status if sent else 200,
        head=head_of(visitor, setting, now, "breaches"),
        breach=view,
        why=why,
        recorded=bool(recorded),
        stray=stray_errors(view.forms, sent),
    )
