"""From what was sent from the page of a unit to facts in its log, each form stored once."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from fastapi import Request

from server.domain.errors import Invalid
from server.domain.words import Confirmation, Kind
from server.pages.episodes.bare_facts import bare_facts
from server.pages.episodes.desk import HAPPENED
from server.pages.episodes.make_desk import lists_of, speech_of
from server.pages.episodes.meanwhile import recorded_meanwhile
from server.pages.event_forms import EventForm, form_of
from server.pages.event_forms.causing import read_causes
from server.pages.event_forms.read import Reading, read_payload
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.once import once
from server.pages.forms.ward_time import within_minute
from server.pages.links import episode_href
from server.pages.observations.doubts import require_confirmed
from server.pages.refusals import FORM
from server.pages.visitors import Visitor, now_of
from server.services.cases import read_before
from server.services.enter_staff import list_staff
from server.services.errors import Overtaken
from server.services.read_episode import EpisodeRead, read_episode
from server.services.record_event import Draft, Recorded
from server.services.record_together import record_together
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import Staff

MANY: Final = frozenset(
    {
        Kind.CONFIRMED,
        Kind.NOTE,
        Kind.ACKNOWLEDGED,
        Kind.CAUSE_GIVEN,
        Kind.REACTION_SUSPECTED,
        Kind.REACTION_STEP,
        Kind.WARNED,
        Kind.VOIDED,
    }
)
"""Kinds of which two people may each record one, and mean different things."""


@dataclass(frozen=True, slots=True)
class Scene:
    """The unit and its people as they are when a form comes in."""

    read: EpisodeRead
    staff: tuple[Staff, ...]
    now: datetime


@dataclass(frozen=True, slots=True)
class Way:
    """How what was sent becomes facts: read, stored together, and shown by the page at `href`."""

    read: Callable[[Entry, Scene], list[Draft]]
    store: Callable[..., tuple[Recorded, ...]] = record_together
    href: Callable[[str], str] = episode_href


def read_scene(session: ReadSession, visitor: Visitor, episode_id: str, now: datetime) -> Scene:
    """Answer the unit and its people. Raises `NotFound`, `Forbidden`."""
    read = read_episode(session, visitor.actor, episode_id, now=now)
    return Scene(read, list_staff(session, visitor.actor, read.ward.id), now)


def record_once(request: Request, visitor: Visitor, typed: Entry, episode_id: str, way: Way) -> str:
    """Record what a form says, all of it or nothing, once. Answers the page that shows it."""
    store: Any = request.app.state.store
    with store.read() as session:
        scene = read_scene(session, visitor, episode_id, now_of(request))
        drafts = way.read(typed, scene)
        first = min((draft.happened_at for draft in drafts), default=scene.now)
        ahead = read_before(session, episode_id, now=scene.now, reaching=first)

    def write(session: WriteSession) -> str:
        stored = way.store(session, visitor.actor, episode_id, drafts, now=scene.now, ahead=ahead)
        said = "&".join(f"recorded={one.event_id}" for one in stored)
        return f"{way.href(episode_id)}?{said}"

    try:
        with store.write() as session:
            actor, path = visitor.actor, request.url.path
            return once(session, actor, typed, lambda: write(session), path=path, now=scene.now)
    except Overtaken as others:
        said = recorded_meanwhile(others.events, speech_of(scene.read, scene.staff))
        raise Wrong({FORM: said}, status=409) from others


def read_form(typed: Entry, scene: Scene) -> list[Draft]:
    """Answer the fact of a form, or one for each limit that a cause is given for.

    Raises `Invalid`, `Wrong`.
    """
    form, read = _form(typed), scene.read
    zone = ZoneInfo(read.ward.timezone)
    lists, site = lists_of(read.picture, scene.staff), read.picture.case.site
    setting = Reading(zone, read.ward.temperature_unit, lists, site)
    happened = _happened(form, typed, zone, scene.now)
    if form.kind is Kind.CAUSE_GIVEN:
        return [Draft(form.kind, scene.now, payload) for payload in read_causes(typed, lists)]
    payload = read_payload(form, typed, setting)
    placed = within_minute(happened or scene.now, scene.now, read.events)
    require_confirmed(payload, typed, read, placed)
    draft = Draft(
        form.kind,
        placed,
        payload,
        expected_revision=typed.whole("revision") if form.guarded else None,
        seen_revision=_seen(form.kind, typed),
    )
    return [draft]


def read_press(typed: Entry, scene: Scene) -> list[Draft]:
    """Answer the facts of one press. Raises `Invalid`."""
    return [
        Draft(kind, scene.now, payload, seen_revision=_seen(kind, typed))
        for kind, payload in bare_facts(typed.raw("facts").split())
    ]


def _seen(kind: Kind, typed: Entry) -> int | None:
    return None if kind in MANY else typed.whole("seen")


def _form(typed: Entry) -> EventForm:
    try:
        kind = Kind(typed.raw("kind"))
        step = Confirmation(typed.raw("step")) if kind is Kind.CONFIRMED else None
    except ValueError:
        raise Invalid(FORM, "There is no such kind of event.") from None
    if kind is Kind.IDENTITY_CHECKED:
        raise Invalid(FORM, "Identity is checked on a page of its own.")
    return form_of(kind, step)


def _happened(form: EventForm, typed: Entry, zone: ZoneInfo, now: datetime) -> datetime | None:
    """When it happened; a form that does not ask, a single button for one, means now."""
    if not form.timed or f"{HAPPENED.name}_time" not in typed:
        return now
    return typed.instant(HAPPENED.name, zone, required=True)
