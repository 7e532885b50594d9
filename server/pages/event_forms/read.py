"""From what was typed into the form of an event to its payload."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from zoneinfo import ZoneInfo

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.payloads import PAYLOADS, Payload
from server.domain.site import Site
from server.domain.wording import temperature, to_fahrenheit
from server.domain.words import ClockName, Confirmation, Kind
from server.pages.event_forms.form import EventForm
from server.pages.event_forms.issue import issued_label
from server.pages.event_forms.words import FINDINGS
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Options, Shape

FAHRENHEIT: Final = "F"


@dataclass(frozen=True, slots=True)
class Reading:
    """What reading a form needs to know: zone and unit of the ward, lists of the page, the site."""

    zone: ZoneInfo
    temperature_unit: str
    lists: Mapping[str, Options]
    site: Site


def read_payload(form: EventForm, entry: Entry, reading: Reading) -> Payload:
    """Answer the payload that was typed. Raises `Wrong` with all that cannot be read."""
    data = {field.name: _READERS[field.shape](entry, field, reading) for field in form.fields}
    shaped = _SHAPERS.get(form.kind, _as_it_is)(data, entry, reading)
    entry.check()
    given = {name: value for name, value in shaped.items() if value is not None}
    try:
        return PAYLOADS[form.kind](**given)
    except Invalid as wrong:
        raise Wrong({wrong.field: wrong.message}) from wrong


def options_of(field: Field, lists: Mapping[str, Options]) -> Options:
    """Answer the choices of a field, its own or those that the page supplies."""
    return lists.get(field.given, ()) if field.given else field.options


def _read_choice(entry: Entry, field: Field, reading: Reading) -> Any:
    options = [value for value, _ in options_of(field, reading.lists)]
    chosen = entry.choice(field.name, options, required=field.required)
    return None if chosen is None else field.make(chosen)


def _read_any_of(entry: Entry, field: Field, _: Reading) -> tuple[str, ...]:
    options = {value for value, _words in field.options}
    return tuple(value for value in entry.all(field.name) if value in options)


_READERS: Final[dict[Shape, Callable[[Entry, Field, Reading], Any]]] = {
    Shape.TEXT: lambda entry, field, _: entry.text(field.name, required=field.required),
    Shape.LONG_TEXT: lambda entry, field, _: entry.text(field.name, required=field.required),
    Shape.NUMBER: lambda entry, field, _: entry.number(field.name, required=field.required),
    Shape.WHOLE: lambda entry, field, _: entry.whole(field.name, required=field.required),
    Shape.DAY: lambda entry, field, _: entry.day(field.name, required=field.required),
    Shape.INSTANT: lambda entry, field, reading: entry.instant(
        field.name, reading.zone, required=field.required, day=entry.raw("happened_at_date")
    ),
    Shape.CHOICE: _read_choice,
    Shape.PICK: _read_choice,
    Shape.ANY_OF: _read_any_of,
    Shape.TICK: lambda entry, field, _: entry.yes_no(field.name),
    Shape.YES_NO: lambda entry, field, _: entry.yes_no(field.name),
}


def _as_it_is(data: dict[str, Any], _: Entry, __: Reading) -> dict[str, Any]:
    return data


def _inspected(data: dict[str, Any], _: Entry, __: Reading) -> dict[str, Any]:
    return {name: name in data["findings"] for name, _words in FINDINGS}


def _observed(data: dict[str, Any], entry: Entry, reading: Reading) -> dict[str, Any]:
    if reading.temperature_unit == FAHRENHEIT and data["temperature_c"] is not None:
        data["temperature_c"] = _celsius(data["temperature_c"], entry)
    return _symptoms(data, entry, reading)


def _celsius(typed: float, entry: Entry) -> float:
    low, high = (round(to_fahrenheit(bound)) for bound in limits.TEMPERATURE_C)
    if not low <= typed <= high:
        said = f"{typed:g} °F is impossible; expected {low} to {high}"
        entry.refuse("temperature_c", f"{said}{_slip(typed, (low, high))}")
    return round((typed - 32) * 5 / 9, 2)


def _slip(typed: float, possible: tuple[int, int]) -> str:
    """What was probably meant by an impossible number of °F: °C, or a point further left."""
    coldest, hottest = limits.TEMPERATURE_C
    if coldest <= typed <= hottest:
        return f". Celsius? {typed:g} °C is {temperature(typed, fahrenheit=True)}"
    return f". {typed / 10:.1f}?" if possible[0] <= typed / 10 <= possible[1] else ""


def _symptoms(data: dict[str, Any], entry: Entry, _: Reading) -> dict[str, Any]:
    other = data.pop("symptoms_other")
    if other is not None and len(other) > limits.SHORT_TEXT:
        entry.refuse("symptoms_other", f"expected at most {limits.SHORT_TEXT} characters")
    data["symptoms"] += (other,) if other else ()
    return data


def _confirmed(data: dict[str, Any], entry: Entry, _: Reading) -> dict[str, Any]:
    return data | {"step": Confirmation(entry.raw("step"))}


def _closed(data: dict[str, Any], _: Entry, __: Reading) -> dict[str, Any]:
    text = data.pop("outcome_text")
    if data["outcome"] is not None and text is not None:
        data["outcome"] = f"{data['outcome']}: {text}"
    return data


def _issued(data: dict[str, Any], entry: Entry, reading: Reading) -> dict[str, Any]:
    return issued_label(data, entry, reading.zone, reading.site)


def _acknowledged(data: dict[str, Any], _: Entry, __: Reading) -> dict[str, Any]:
    if data["clock"] is not None:
        data["clock"] = ClockName(data["clock"])
    return data


def _voided(data: dict[str, Any], entry: Entry, _: Reading) -> dict[str, Any]:
    return data | {"event_id": entry.text("event_id", required=True)}


_SHAPERS: Final[dict[Kind, Callable[[dict[str, Any], Entry, Reading], dict[str, Any]]]] = {
    Kind.ISSUED: _issued,
    Kind.INSPECTED: _inspected,
    Kind.OBSERVED: _observed,
    Kind.REACTION_SUSPECTED: _symptoms,
    Kind.REACTION_CLOSED: _closed,
    Kind.CONFIRMED: _confirmed,
    Kind.ACKNOWLEDGED: _acknowledged,
    Kind.VOIDED: _voided,
}
