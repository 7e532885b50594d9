"""Orders of a ward: list, place, replace."""

from collections.abc import Mapping
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.domain.payloads import Cancelled
from server.domain.request import Patient
from server.domain.wording import COMPONENT, dated_time
from server.domain.words import Kind, Phase, Priority
from server.pages.answers import PageRoute
from server.pages.episodes.facts import PRIORITY
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.views import Surroundings
from server.pages.links import episode_href, order_href, ward_href
from server.pages.order_forms import (
    FIELDS,
    lists_of_order,
    order_values,
    read_order_draft,
)
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, Sheet, list_page
from server.pages.visitors import See, Typed
from server.pages.ward_setting import WardSetting
from server.services.errors import NotFound
from server.services.open_order import Ordered, list_orders, open_order, patients_of
from server.services.permissions import Act, may, require
from server.services.read_episode import read_episode
from server.services.record_event import Draft, record_event
from server.services.shown import shows
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "orders"
REPLACED: Final = "replaced by a changed order"
NOT_ISSUED: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE})
Chosen = Annotated[str, Query(max_length=200)]


@router.get("/wards/{ward_id}/orders")
@shows(SubjectKind.ORDERS, ward="ward_id")
def see_orders(request: Request, visitor: See, ward_id: str) -> Response:
    """The orders of a ward, the newest first, with the units they gave."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting = screen.setting()
    with screen.store.read() as session:
        orders = list_orders(session, visitor.actor, ward_id)
        patients = patients_of(session, orders)
    changes = may(visitor.actor, Act.ORDER, ward_id)
    listed = ListPage(
        title="Orders",
        caption="Orders, the newest first",
        columns=("Patient", "Bed", "Ordered", "Units", "Urgency", "Recorded", ""),
        rows=tuple(_row(one, patients, setting, screen, changes=changes) for one in orders),
        empty="No order has been placed on this ward yet.",
        actions=(("Place an order", ward_href(ward_id, "orders/new")),) if changes else (),
    )
    return list_page(screen.head(setting), listed)


@router.get("/wards/{ward_id}/orders/new")
@shows(SubjectKind.PATIENTS, ward="ward_id")
def see_new_order(request: Request, visitor: See, ward_id: str, patient: Chosen = "") -> Response:
    """The form to place an order."""
    require(visitor.actor, Act.ORDER, ward_id)
    screen = Screen(request, visitor, NAME, ward_id)
    values = {"patient_id": [patient], "priority": [Priority.ROUTINE.value], "units": ["1"]}
    return _form(screen, _new_sheet(ward_id), Entry(values))


@router.post("/wards/{ward_id}/orders")
def place(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Place an order: one episode for each unit."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        draft = read_order_draft(screen, typed)

        def write(session: WriteSession) -> str:
            open_order(session, visitor.actor, draft, now=screen.now)
            return ward_href(ward_id, "orders")

        return screen.write_once(typed, write)

    def again(wrong: Wrong) -> Response:
        return _form(screen, _new_sheet(ward_id), typed, wrong)

    return screen.try_form(typed, act, again)


@router.get("/wards/{ward_id}/orders/{order_id}/change")
@shows(SubjectKind.ORDER, "order_id", ward="ward_id")
def see_order(request: Request, visitor: See, ward_id: str, order_id: str) -> Response:
    """The form to change an order: what is not issued yet is ordered anew."""
    require(visitor.actor, Act.ORDER, ward_id)
    screen = Screen(request, visitor, NAME, ward_id)
    ordered = _find(screen, order_id)
    left = _not_issued(screen, ordered)
    values = order_values(ordered, len(left), screen.setting())
    return _form(screen, _change_sheet(ward_id, order_id), Entry(values))


@router.post("/wards/{ward_id}/orders/{order_id}/change")
def change(request: Request, visitor: See, typed: Typed, ward_id: str, order_id: str) -> Response:
    """Withdraw what is not issued yet and order it anew, both or neither."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        draft, left = read_order_draft(screen, typed), _not_issued(screen, _find(screen, order_id))
        withdrawn = Draft(Kind.CANCELLED, screen.now, Cancelled(REPLACED))

        def write(session: WriteSession) -> str:
            for episode_id in left:
                record_event(session, visitor.actor, episode_id, withdrawn, now=screen.now)
            open_order(session, visitor.actor, draft, now=screen.now)
            return ward_href(ward_id, "orders")

        return screen.write_once(typed, write)

    def again(wrong: Wrong) -> Response:
        return _form(screen, _change_sheet(ward_id, order_id), typed, wrong)

    return screen.try_form(typed, act, again)


def _new_sheet(ward_id: str) -> Sheet:
    back = ("Orders", ward_href(ward_id, "orders"))
    return Sheet("Place an order", back[1], "Place the order", back, FIELDS)


def _change_sheet(ward_id: str, order_id: str) -> Sheet:
    back = ("Orders", ward_href(ward_id, "orders"))
    href = order_href(ward_id, order_id)
    hint = (
        "Units that were issued stay as they were ordered. The others are withdrawn, and ordered "
        "anew as written here."
    )
    return Sheet("Change an order", href, "Record the change", back, FIELDS, hint)


def _form(screen: Screen, sheet: Sheet, entry: Entry, wrong: Wrong | None = None) -> Response:
    around = Surroundings(screen.setting().zone, lists_of_order(screen, entry))
    return screen.form(sheet, entry, around, wrong)


def _find(screen: Screen, order_id: str) -> Ordered:
    ward_id = screen.ward_id or ""
    with screen.store.read() as session:
        for ordered in list_orders(session, screen.visitor.actor, ward_id):
            if ordered.order.id == order_id:
                return ordered
    raise NotFound("the order")


def _not_issued(screen: Screen, ordered: Ordered) -> tuple[str, ...]:
    with screen.store.read() as session:
        phases = {
            one: read_episode(
                session, screen.visitor.actor, one, now=screen.now
            ).picture.episode.phase
            for one in ordered.episode_ids
        }
    return tuple(one for one, phase in phases.items() if phase in NOT_ISSUED)


def _row(
    ordered: Ordered,
    patients: Mapping[str, Patient],
    setting: WardSetting,
    screen: Screen,
    *,
    changes: bool,
) -> Row:
    order = ordered.order
    href = order_href(order.ward_id, order.id) if changes else ""
    return Row(
        (
            Cell(patients[order.patient_id].full_name, episode_href(ordered.episode_ids[0])),
            Cell(order.bed),
            Cell(COMPONENT[order.component]),
            Cell(str(order.units)),
            Cell(PRIORITY[order.priority]),
            Cell(dated_time(order.recorded_at, setting.zone, screen.now)),
            Cell("Change" if href else "", href),
        )
    )
