"""The forms of a webhook: enter one, change one, exchange its secret."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.words import Stage
from server.pages.answers import PageRoute, attempt, done
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import Surroundings
from server.pages.links import ward_href, webhook_href
from server.pages.setup_screen import Screen
from server.pages.tables import Sheet
from server.pages.visitors import See, Typed
from server.pages.webhook_page import NAME, webhook_page
from server.pages.webhook_view import STAGE
from server.services.enter_ward import list_wards
from server.services.enter_webhook import WebhookDraft, enter_webhook, webhook_to_change
from server.services.permissions import Act, require
from server.services.shown import shows_no_patient
from server.services.tend_webhook import rotate_secret
from server.store.ids import new_id
from server.store.sessions import WriteSession
from server.store.webhooks import Webhook

router = APIRouter(route_class=PageRoute, include_in_schema=False)

ALL_WARDS: Final = "*"
FIELDS: Final = (
    Field("name", "Name", hint="For example the pagers it leads to.", required=True),
    Field("address", "Address", hint="https://…, where messages are posted to.", required=True),
    Field(
        "stages",
        "What is sent",
        Shape.ANY_OF,
        options=tuple((stage.value, words) for stage, words in STAGE.items()),
        hint="Reminders of these stages.",
        bare=True,
    ),
    Field("wards", "Wards", Shape.ANY_OF, given="wards", bare=True),
)
FIRST_TICKED: Final = (Stage.OVERDUE, Stage.ESCALATE, Stage.SECOND_ESCALATE)


@router.get("/wards/{ward_id}/webhooks/new")
@shows_no_patient
def see_new_webhook(request: Request, visitor: See, ward_id: str) -> Response:
    """The form to enter a webhook."""
    require(visitor.actor, Act.SET_UP, ward_id)
    stages = [stage.value for stage in FIRST_TICKED]
    values: dict[str, list[str]] = {"wards": [ward_id], "stages": stages}
    return _form(Screen(request, visitor, NAME, ward_id), None, Entry(values))


@router.post("/wards/{ward_id}/webhooks")
def enter(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Enter a webhook; its secret is shown once, on the page that answers the first time."""
    screen, webhook_id = Screen(request, visitor, NAME, ward_id), new_id()
    secrets: list[str] = []

    def write(session: WriteSession) -> str:
        made = _enter(session, screen, typed, webhook_id)
        secrets.append(made.secret)
        return webhook_href(ward_id, made.id)

    def act() -> Response:
        href = screen.write_once(typed, write)
        return webhook_page(screen, webhook_id, secret=secrets[0]) if secrets else done(href)

    return attempt(visitor, typed, act, lambda wrong: _form(screen, None, typed, wrong))


@router.get("/wards/{ward_id}/webhooks/{webhook_id}/change")
@shows_no_patient
def see_change(request: Request, visitor: See, ward_id: str, webhook_id: str) -> Response:
    """The form to change a webhook."""
    screen = Screen(request, visitor, NAME, ward_id)
    with screen.store.read() as session:
        webhook = webhook_to_change(session, visitor.actor, webhook_id)
    values: dict[str, list[str]] = {
        "name": [webhook.name],
        "address": [webhook.address],
        "stages": sorted(webhook.stages),
        "wards": [ALL_WARDS] if webhook.wards is None else sorted(webhook.wards),
    }
    return _form(screen, webhook_id, Entry(values))


@router.post("/wards/{ward_id}/webhooks/{webhook_id}/change")
def change(request: Request, visitor: See, typed: Typed, ward_id: str, webhook_id: str) -> Response:
    """Change a webhook; its secret stays."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        webhook_to_change(session, visitor.actor, webhook_id)
        _enter(session, screen, typed, webhook_id)
        return webhook_href(ward_id, webhook_id)

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _form(screen, webhook_id, typed, wrong),
    )


@router.post("/wards/{ward_id}/webhooks/{webhook_id}/secret")
def change_secret(
    request: Request, visitor: See, typed: Typed, ward_id: str, webhook_id: str
) -> Response:
    """Exchange the secret; the new one is shown once, on the page that answers the first time."""
    screen = Screen(request, visitor, NAME, ward_id)
    secrets: list[str] = []

    def write(session: WriteSession) -> str:
        secrets.append(rotate_secret(session, visitor.actor, webhook_id, now=screen.now))
        return webhook_href(ward_id, webhook_id)

    def act() -> Response:
        href = screen.write_once(typed, write)
        return webhook_page(screen, webhook_id, secret=secrets[0]) if secrets else done(href)

    return attempt(visitor, typed, act, lambda wrong: webhook_page(screen, webhook_id, wrong=wrong))


def _enter(session: WriteSession, screen: Screen, typed: Entry, webhook_id: str) -> Webhook:
    wards = typed.all("wards")
    known = {stage.value for stage in Stage}
    draft = WebhookDraft(
        id=webhook_id,
        name=typed.text("name", required=True) or "",
        address=typed.text("address", required=True) or "",
        stages=frozenset(Stage(one) for one in typed.all("stages") if one in known),
        wards=None if ALL_WARDS in wards else frozenset(wards),
    )
    typed.check()
    return enter_webhook(
        session,
        screen.visitor.actor,
        draft,
        allow_http=screen.request.app.state.settings.webhook_http,
        now=screen.now,
    )


def _form(
    screen: Screen, webhook_id: str | None, entry: Entry, wrong: Wrong | None = None
) -> Response:
    ward_id = screen.ward_id or ""
    with screen.store.read() as session:
        wards = list_wards(session, screen.visitor.actor)
    every: Options = ((ALL_WARDS, "all wards"),) if screen.visitor.actor.wards is None else ()
    lists = {"wards": (*((one.id, one.name) for one in wards), *every)}
    sheet = _sheet(ward_id, webhook_id)
    return screen.form(sheet, entry, Surroundings(screen.setting().zone, lists), wrong)


def _sheet(ward_id: str, webhook_id: str | None) -> Sheet:
    if webhook_id is None:
        back = ("Webhooks", ward_href(ward_id, NAME))
        hint = "The secret that signs its messages is made here and shown once."
        return Sheet("Enter a webhook", back[1], "Enter the webhook", back, FIELDS, hint)
    href = webhook_href(ward_id, webhook_id)
    return Sheet(
        "Change a webhook", f"{href}/change", "Record the change", ("The webhook", href), FIELDS
    )
