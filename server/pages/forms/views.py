"""Fields ready to be drawn: their words, their choices, and what was typed into them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final
from zoneinfo import ZoneInfo

from server.pages.forms.entry import Entry
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.ward_time import TypedTime

NO_TIME: Final = TypedTime()


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What fields are drawn with: the ward's zone, lists by name, and values from before.

    `before` are texts to show beside a field, by the field's `before`; `units` replace the unit
    of a field by its name; `needed` are fields that may be left out, though the policy wants them.
    """

    zone: ZoneInfo
    lists: Mapping[str, Options] = field(default_factory=dict)
    before: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    holds: frozenset[str] = frozenset()
    needed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class FieldView:
    """One field. `value` and `values` are as typed; `typed` is set for an instant.

    `needed` says that the policy wants it, though it may be left out.
    """

    name: str
    label: str
    shape: str
    required: bool
    bare: bool
    unit: str
    hint: str
    before: str
    empty: str
    options: Options
    value: str
    values: tuple[str, ...]
    typed: TypedTime
    scan: str
    needed: bool
    most: float | None


def field_views(
    fields: tuple[Field, ...], entry: Entry, around: Surroundings
) -> tuple[FieldView, ...]:
    """Answer the fields that are shown: a field with `only_if` needs that it holds, or a text."""
    shown = (one for one in fields if _is_shown(one, entry, around))
    return tuple(field_view(one, entry, around) for one in shown)


def field_view(one: Field, entry: Entry, around: Surroundings) -> FieldView:
    """Answer one field with what was typed into it."""
    is_instant = one.shape is Shape.INSTANT
    return FieldView(
        name=one.name,
        label=one.label,
        shape=one.shape.value,
        required=one.required,
        bare=one.bare or one.name in around.needed,
        unit=around.units.get(one.name, one.unit),
        hint=one.hint,
        before=around.before.get(one.before, ""),
        empty=one.empty,
        options=around.lists.get(one.given, ()) if one.given else one.options,
        value="" if one.shape is Shape.MASKED else entry.raw(one.name),
        values=entry.all(one.name),
        typed=entry.typed(one.name, around.zone) if is_instant else NO_TIME,
        scan=one.scan,
        needed=one.name in around.needed,
        most=one.most,
    )


def form_errors(entry: Entry, errors: Mapping[str, str]) -> dict[str, str]:
    """Answer what is wrong, by field: found while reading, and refused afterwards."""
    return {**entry.errors, **errors}


def _is_shown(one: Field, entry: Entry, around: Surroundings) -> bool:
    return not one.only_if or one.only_if in around.holds or bool(entry.raw(one.name))
