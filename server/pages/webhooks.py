"""Webhooks of a ward: see how each stands and what was sent there, and tend it."""

from collections.abc import Callable
from datetime import datetime
from enum import StrEnum

from fastapi import APIRouter, Request, Response

from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry
from server.pages.links import ward_href, webhook_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, list_page
from server.pages.visitors import See, Typed
from server.pages.webhook_page import NAME, views_of, webhook_page, webhook_shown
from server.pages.webhook_view import WebhookView
from server.services.enter_webhook import list_webhooks
from server.services.list_deliveries import Counts, count_deliveries, send_again, send_trial
from server.services.permissions import Act, may
from server.services.shown import shows_no_patient
from server.services.tend_webhook import pause_webhook, remove_webhook, resume_webhook
from server.store.sessions import WriteSession
from server.store.webhooks import Webhook

router = APIRouter(route_class=PageRoute, include_in_schema=False)


Doing = Callable[[WriteSession, datetime], object]


class Tending(StrEnum):
    """What a button on the page of a webhook does."""

    PAUSE = "pause"
    RESUME = "resume"
    TRIAL = "trial"
    REMOVE = "remove"


@router.get("/wards/{ward_id}/webhooks")
@shows_no_patient
def see_webhooks(request: Request, visitor: See, ward_id: str) -> Response:
    """The webhooks that are told of a ward, each with how it stands."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting, sets_up = screen.setting(), may(visitor.actor, Act.SET_UP, ward_id)
    with screen.store.read() as session:
        webhooks = list_webhooks(session, visitor.actor, ward_id)
        counts = count_deliveries(session, webhooks, now=screen.now)
        counted = {one: counts[one.id] for one in webhooks}
        views = views_of(session, screen, setting.zone, counted)
    listed = ListPage(
        title="Webhooks",
        caption="Webhooks by name",
        columns=("Name", "Leads to", "What is sent", "How it stands", "Messages of 24 hours"),
        rows=tuple(_row(view) for view in views),
        empty="No other program is told of reminders yet.",
        hint="A webhook sends the reminders of the ward to pagers and messaging bridges, "
        "with bed and clock and without the name of a patient.",
        actions=(("Enter a webhook", ward_href(ward_id, f"{NAME}/new")),) if sets_up else (),
    )
    return list_page(screen.head(setting), listed)


@router.get("/wards/{ward_id}/webhooks/strip")
@shows_no_patient
def see_strip(request: Request, visitor: See, ward_id: str) -> Response:
    """The webhooks of a ward that are off, in a line, alone; the board puts it in place."""
    screen = Screen(request, visitor, NAME, ward_id)
    zone = screen.setting().zone
    with screen.store.read() as session:
        webhooks = list_webhooks(session, visitor.actor, ward_id)
        are_off: dict[Webhook, Counts] = {one: {} for one in webhooks if one.off_at is not None}
        off = views_of(session, screen, zone, are_off)
    return page("webhooks/strip.html", off=off, href=ward_href(ward_id, NAME))


@router.get("/wards/{ward_id}/webhooks/{webhook_id}")
@shows_no_patient
def see_webhook(request: Request, visitor: See, ward_id: str, webhook_id: str) -> Response:
    """One webhook and what was sent there."""
    return webhook_page(Screen(request, visitor, NAME, ward_id), webhook_id)


@router.get("/wards/{ward_id}/webhooks/{webhook_id}/messages")
@shows_no_patient
def see_messages(request: Request, visitor: See, ward_id: str, webhook_id: str) -> Response:
    """What was sent there, alone: the page fetches it anew while something waits."""
    screen = Screen(request, visitor, NAME, ward_id)
    return page(
        "webhooks/messages.html", **webhook_shown(screen, webhook_id, screen.setting().zone)
    )


@router.post("/wards/{ward_id}/webhooks/{webhook_id}/messages/{message_id}/again")
def again(
    request: Request, visitor: See, typed: Typed, ward_id: str, webhook_id: str, message_id: str
) -> Response:
    """Have a message sent once more under the identity it had."""
    return _tend(
        Screen(request, visitor, NAME, ward_id),
        typed,
        webhook_id,
        lambda session, now: send_again(session, visitor.actor, webhook_id, message_id, now=now),
    )


@router.post("/wards/{ward_id}/webhooks/{webhook_id}/{act}")
def tend(
    request: Request, visitor: See, typed: Typed, ward_id: str, webhook_id: str, act: Tending
) -> Response:
    """Pause a webhook, have it go on, send a trial message, or remove it."""
    actor = visitor.actor
    acts: dict[Tending, Doing] = {
        Tending.PAUSE: lambda session, now: pause_webhook(session, actor, webhook_id, now=now),
        Tending.RESUME: lambda session, now: resume_webhook(session, actor, webhook_id, now=now),
        Tending.TRIAL: lambda session, now: send_trial(
            session, actor, webhook_id, ward_id, now=now
        ),
        Tending.REMOVE: lambda session, now: remove_webhook(session, actor, webhook_id, now=now),
    }
    screen = Screen(request, visitor, NAME, ward_id)
    leads_to = ward_href(ward_id, NAME) if act is Tending.REMOVE else ""
    return _tend(screen, typed, webhook_id, acts[act], leads_to)


def _tend(
    screen: Screen,
    typed: Entry,
    webhook_id: str,
    act: Doing,
    leads_to: str = "",
) -> Response:
    def write(session: WriteSession) -> str:
        act(session, screen.now)
        return leads_to or webhook_href(screen.ward_id or "", webhook_id)

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: webhook_page(screen, webhook_id, wrong=wrong),
    )


def _row(view: WebhookView) -> Row:
    return Row(
        (
            Cell(view.name, view.href),
            Cell(view.address),
            Cell("; ".join(view.stages)),
            Cell(view.state),
            Cell(view.counts),
        )
    )
