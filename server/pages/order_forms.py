"""The form of an order: its fields, what was typed, and an order that stands."""

from collections.abc import Mapping
from typing import Final

from server.domain.requirements import WORDS, requirement_of
from server.domain.wording import COMPONENT
from server.domain.words import Component, Priority
from server.pages.episodes.facts import PRIORITY
from server.pages.forms.entry import Entry, instant_values
from server.pages.forms.fields import Field, Options, Shape
from server.pages.setup_screen import Screen
from server.pages.ward_setting import WardSetting
from server.services.enter_staff import list_staff
from server.services.open_order import OrderDraft, Ordered
from server.services.register_patient import find_patients, read_patient

COMPONENTS: Final[Options] = tuple((one.value, words) for one, words in COMPONENT.items())
PRIORITIES: Final[Options] = tuple((one.value, words) for one, words in PRIORITY.items())
FIELDS: Final = (
    Field(
        "patient_id",
        "Patient",
        Shape.CHOICE,
        given="patients",
        required=True,
        empty="choose",
        hint="Not in the list? Find them under Patients, and order from there.",
    ),
    Field("bed", "Bed", required=True),
    Field(
        "component",
        "Component",
        Shape.CHOICE,
        options=COMPONENTS,
        required=True,
        empty="choose",
    ),
    Field("units", "Units", Shape.WHOLE, required=True),
    Field("volume_ml", "Volume of one unit", Shape.NUMBER, unit="mL"),
    Field(
        "priority",
        "Urgency",
        Shape.CHOICE,
        options=PRIORITIES,
        required=True,
    ),
    Field("not_before", "Not before", Shape.INSTANT),
    Field("wanted_by", "Wanted by", Shape.INSTANT),
    Field("max_rate_ml_h", "Ceiling of the rate", Shape.NUMBER, unit="mL/h"),
    Field("duration_minutes", "Each unit over", Shape.WHOLE, unit="min"),
    Field(
        "requirements",
        "Special requirements",
        Shape.ANY_OF,
        options=tuple((one.value, words) for one, words in WORDS.items()),
        bare=True,
    ),
    Field("other_requirements", "Other requirements", hint="Separated by commas."),
    Field("sample_taken_at", "Sample taken", Shape.INSTANT),
    Field("nurse_id", "Nurse", Shape.CHOICE, given="staff", empty="nobody yet"),
)
INSTANTS: Final = ("not_before", "wanted_by", "sample_taken_at")


def lists_of_order(screen: Screen, entry: Entry) -> dict[str, Options]:
    """Answer the patients and the nurses that an order can name."""
    actor, chosen = screen.visitor.actor, entry.raw("patient_id")
    with screen.store.read() as session:
        found = list(find_patients(session, actor, ""))
        if chosen and chosen not in {one.id for one in found}:
            found.append(read_patient(session, actor, chosen))
        staff = list_staff(session, actor, screen.ward_id)
    return {
        "patients": tuple((one.id, f"{one.full_name}, {one.record_number}") for one in found),
        "staff": tuple((one.id, one.name) for one in staff if one.active),
    }


def read_order_draft(screen: Screen, typed: Entry) -> OrderDraft:
    """Answer the order that was typed. Raises `Wrong`."""
    zone, lists = screen.setting().zone, lists_of_order(screen, typed)
    component = typed.choice("component", [one.value for one in Component], required=True)
    priority = typed.choice("priority", [one.value for one in Priority], required=True)
    not_before, wanted_by, sample_taken_at = (typed.instant(name, zone) for name in INSTANTS)
    draft = OrderDraft(
        id=None,
        ward_id=screen.ward_id or "",
        patient_id=typed.text("patient_id", required=True) or "",
        bed=typed.text("bed", required=True) or "",
        component=Component(component or Component.RED_CELLS),
        priority=Priority(priority or Priority.ROUTINE),
        units=typed.whole("units", required=True) or 0,
        volume_ml=typed.number("volume_ml"),
        max_rate_ml_h=typed.number("max_rate_ml_h"),
        duration_minutes=typed.whole("duration_minutes"),
        nurse_id=typed.choice("nurse_id", [value for value, _ in lists["staff"]]),
        requirements=_requirements(typed),
        not_before=not_before,
        wanted_by=wanted_by,
        sample_taken_at=sample_taken_at,
    )
    typed.check()
    return draft


def _requirements(typed: Entry) -> tuple[str, ...]:
    """What was ticked, then what was written."""
    known = [one.value for one in WORDS]
    ticked = typed.all("requirements")
    if any(name not in known for name in ticked):
        typed.refuse("requirements", "is none of the choices")
    written = typed.text("other_requirements") or ""
    return (*ticked, *(part.strip() for part in written.split(",") if part.strip()))


def order_values(ordered: Ordered, left: int, setting: WardSetting) -> dict[str, list[str]]:
    """Answer an order as the form shows it, for the `left` units that are not issued."""
    order = ordered.order
    named = [requirement_of(text) for text in order.requirements]
    free = [text for text in order.requirements if requirement_of(text) is None]
    plain: Mapping[str, object] = {
        "patient_id": order.patient_id,
        "bed": order.bed,
        "component": order.component.value,
        "units": max(1, left),
        "priority": order.priority.value,
        "other_requirements": ", ".join(free),
        "duration_minutes": order.duration_minutes,
        "volume_ml": None if order.volume_ml is None else f"{order.volume_ml:g}",
        "max_rate_ml_h": None if order.max_rate_ml_h is None else f"{order.max_rate_ml_h:g}",
    }
    values = {name: [str(value)] for name, value in plain.items() if value is not None}
    values["requirements"] = [one.value for one in named if one is not None]
    for name in INSTANTS:
        instant = getattr(order, name)
        if instant is not None:
            values |= instant_values(name, instant, setting.zone)
    return values
