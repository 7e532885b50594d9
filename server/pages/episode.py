"""The page of one unit, and the recording of every event from it."""

from datetime import datetime
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query, Request, Response

from server.domain.errors import Invalid
from server.domain.words import Kind
from server.pages.answers import PageRoute, attempt, done
from server.pages.episodes.desk import HAPPENED, Sent
from server.pages.episodes.episode_view import EpisodeView, episode_view, lists_of
from server.pages.event_forms import FORMS, EventForm
from server.pages.event_forms.read import Reading, read_payload
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.ward_time import within_minute
from server.pages.links import episode_href, ward_href
from server.pages.refusals import FORM
from server.pages.rendering import page, wants_part
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.read_episode import EpisodeRead, read_episode
from server.services.record_event import Draft, record_event
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

Recorded = Annotated[str, Query(max_length=64)]


@router.get("/episodes/{episode_id}")
def see_episode(
    request: Request, visitor: See, episode_id: str, recorded: Recorded = ""
) -> Response:
    """The page of a unit; `recorded` names the event that was recorded a moment ago."""
    return _page(request, visitor, episode_id, recorded=recorded)


@router.get("/episodes/{episode_id}/standing")
def see_standing(request: Request, visitor: See, episode_id: str) -> Response:
    """How the unit stands, alone: the page puts it in place while somebody types below."""
    setting, view = _look(request, visitor, episode_id, None)
    head = head_of(visitor, setting, now_of(request), "")
    return page("episode/standing_part.html", episode=view, head=head)


@router.post("/episodes/{episode_id}/events")
def record(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Record one event; a refused one answers the page with what was typed."""

    def act() -> Response:
        event_id = _record(request, visitor, typed, episode_id)
        return done(f"{episode_href(episode_id)}?recorded={event_id}")

    def again(wrong: Wrong) -> Response:
        sent = Sent(typed.raw("form_key"), typed, wrong)
        return _page(request, visitor, episode_id, sent=sent)

    return attempt(visitor, typed, act, again)


def _page(
    request: Request,
    visitor: Visitor,
    episode_id: str,
    *,
    sent: Sent | None = None,
    recorded: str = "",
) -> Response:
    setting, view = _look(request, visitor, episode_id, sent)
    return page(
        "episode/body.html" if wants_part(request) else "episode/episode.html",
        status=sent.wrong.status if sent else 200,
        head=head_of(visitor, setting, now_of(request), ""),
        episode=view,
        stray=_stray(view, sent),
        recorded=next((row for row in view.history if row.event_id == recorded), None),
    )


def _look(
    request: Request, visitor: Visitor, episode_id: str, sent: Sent | None
) -> tuple[WardSetting, EpisodeView]:
    now = now_of(request)
    with request.app.state.store.read() as session:
        read = read_episode(session, visitor.actor, episode_id, now=now)
        staff = list_staff(session, visitor.actor, read.ward.id)
        setting = ward_setting(session, visitor.actor, now, read.ward.id)
    return setting, episode_view(read, staff, visitor, ward_href(read.ward.id, "board"), sent)


def _stray(view: EpisodeView, sent: Sent | None) -> dict[str, str]:
    """What is wrong with a form that the page does not show (any more)."""
    if sent is None:
        return {}
    shown = [form for step in view.steps for form in step.forms]
    shown += [*view.record, *view.held_forms.values(), *view.void_forms.values()]
    shown += view.reaction.forms
    return {} if any(form.refused for form in shown) else sent.wrong.errors


def _record(request: Request, visitor: Visitor, typed: Entry, episode_id: str) -> str:
    form, now, store = _form(typed), now_of(request), request.app.state.store
    with store.read() as session:
        read = read_episode(session, visitor.actor, episode_id, now=now)
        staff = list_staff(session, visitor.actor, read.ward.id)
    draft = _draft(form, typed, read, staff, now)
    with store.write() as session:
        recorded = record_event(session, visitor.actor, episode_id, draft, now=now)
    return recorded.event_id


def _form(typed: Entry) -> EventForm:
    try:
        return FORMS[Kind(typed.raw("kind"))]
    except ValueError:
        raise Invalid(FORM, "There is no such kind of event.") from None


def _draft(
    form: EventForm, typed: Entry, read: EpisodeRead, staff: tuple[Staff, ...], now: datetime
) -> Draft:
    zone = ZoneInfo(read.ward.timezone)
    setting = Reading(zone, read.ward.temperature_unit, lists_of(read.picture, staff))
    happened = _happened(form, typed, zone, now)
    payload = read_payload(form, typed, setting)
    revision = typed.whole("revision") if form.guarded else None
    placed = within_minute(happened or now, now, read.events)
    return Draft(form.kind, placed, payload, expected_revision=revision)


def _happened(form: EventForm, typed: Entry, zone: ZoneInfo, now: datetime) -> datetime | None:
    """When it happened; a form that does not ask, a single button for one, means now."""
    if not form.timed or f"{HAPPENED.name}_time" not in typed:
        return now
    return typed.instant(HAPPENED.name, zone, required=True)
