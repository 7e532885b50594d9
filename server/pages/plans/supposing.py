"""What if: the form, and what was typed into it as suppositions. Nothing of it is recorded."""

from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.plan.suppose import BedMoves, Leaves, MoreUnits, Suppositions
from server.domain.words import Component, Priority
from server.pages.forms.entry import Entry
from server.pages.forms.fields import Field, Shape
from server.pages.forms.views import FieldView, Surroundings, field_views
from server.pages.order_forms import COMPONENTS, PRIORITIES
from server.pages.plans.changing import nurses
from server.services.planning_ground import Ground

MOST_UNITS: Final = 10
LARGEST_ML: Final = 1000
LEAVES: Final = (
    Field("leaves_id", "Nurse", Shape.CHOICE, given="nurses", bare=True, empty="nobody"),
    Field("leaves_at", "Goes at", Shape.INSTANT, bare=True),
)
MORE: Final = (
    Field("more_bed", "Bed", bare=True),
    Field("more_count", "Units", Shape.WHOLE, bare=True, most=MOST_UNITS),
    Field(
        "more_component",
        "Component",
        Shape.CHOICE,
        options=COMPONENTS,
        bare=True,
    ),
    Field(
        "more_priority",
        "Urgency",
        Shape.CHOICE,
        options=PRIORITIES,
        bare=True,
    ),
    Field("more_volume_ml", "Each of", Shape.NUMBER, unit="mL", bare=True),
    Field("more_at", "To be had from", Shape.INSTANT, bare=True),
)
MOVES: Final = (
    Field("moves_bed", "Bed", bare=True),
    Field("moves_at", "Goes at", Shape.INSTANT, bare=True),
)
_AS_A_RULE: Final = {"more_count": "1", "more_volume_ml": "280", "more_priority": "routine"}


def supposing_fields(ground: Ground, typed: Entry) -> tuple[tuple[str, tuple[FieldView, ...]], ...]:
    """Answer the fields in three groups, each with its words."""
    values = {name: list(texts) for name, texts in typed.values.items()}
    entry = Entry({name: [text] for name, text in _AS_A_RULE.items()} | values)
    around = Surroundings(ground.zone, {"nurses": nurses(ground)})
    groups = (
        ("A nurse goes early", LEAVES),
        ("More units are ordered", MORE),
        ("A bed moves to another ward", MOVES),
    )
    return tuple((words, field_views(fields, entry, around)) for words, fields in groups)


def suppositions_of(typed: Entry, zone: ZoneInfo, now: datetime) -> Suppositions:
    """Answer what is supposed; what is wrong is noted in `typed`. A time alone is of today."""
    day = f"{now.astimezone(zone):%Y-%m-%d}"
    supposed = Suppositions(
        leaves=_leaves(typed, zone, day),
        more=_more(typed, zone, day, now),
        moves=_moves(typed, zone, day),
    )
    if supposed.is_empty:
        typed.refuse("form", "Nothing is supposed; expected a nurse, units or a bed")
    return supposed


def _leaves(typed: Entry, zone: ZoneInfo, day: str) -> tuple[Leaves, ...]:
    who = typed.text("leaves_id")
    if who is None:
        return ()
    at = typed.instant("leaves_at", zone, required=True, day=day)
    return () if at is None else (Leaves(who, at),)


def _moves(typed: Entry, zone: ZoneInfo, day: str) -> tuple[BedMoves, ...]:
    bed = typed.text("moves_bed")
    if bed is None:
        return ()
    at = typed.instant("moves_at", zone, required=True, day=day)
    return () if at is None else (BedMoves(bed, at),)


def _more(typed: Entry, zone: ZoneInfo, day: str, now: datetime) -> tuple[MoreUnits, ...]:
    bed = typed.text("more_bed")
    if bed is None:
        return ()
    count, volume_ml = _count(typed), _volume(typed)
    component = typed.choice("more_component", list(Component), required=True)
    priority = typed.choice("more_priority", list(Priority), required=True)
    at = typed.instant("more_at", zone, day=day) or now
    if component is None or priority is None:
        return ()
    kind, urgency = Component(component), Priority(priority)
    return (MoreUnits(bed, kind, urgency, count, at, volume_ml),)


def _count(typed: Entry) -> int:
    count = typed.whole("more_count", required=True)
    if count is not None and not 1 <= count <= MOST_UNITS:
        typed.refuse("more_count", f"is {count}; expected from 1 to {MOST_UNITS}")
    return count or 0


def _volume(typed: Entry) -> float:
    volume_ml = typed.number("more_volume_ml", required=True)
    if volume_ml is not None and not 0 < volume_ml <= LARGEST_ML:
        typed.refuse("more_volume_ml", f"is {volume_ml:g}; expected up to {LARGEST_ML} mL")
    return volume_ml or 0.0
