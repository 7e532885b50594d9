"""The bedside identity check: what has to be read, and what the readings of one or two people say.

Each reading is compared with the form as soon as it is there. What the form does not say is
compared between the two, once both have read everything: until then neither learns anything of
the other's readings.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from typing import Final

from server.domain.episode import Episode
from server.domain.identity_reading import (
    How,
    Item,
    Reading,
    plain_day,
    plain_minute,
    plain_name,
    plain_number,
)
from server.domain.labels import plain_unit_number, split_product
from server.domain.labels.gs1 import check_digit
from server.domain.payloads import CheckedItem, IdentityChecked
from server.domain.request import Patient, Request

PATIENT_ITEMS: Final = (Item.NAME, Item.DATE_OF_BIRTH, Item.RECORD_NUMBER)
BAG_ITEMS: Final = (Item.BLOOD_GROUP, Item.EXPIRY, Item.UNIT_NUMBER)


class CheckState(StrEnum):
    """Where a check stands."""

    OPEN = "open"
    MATCHED = "matched"
    MISMATCHED = "mismatched"
    INTERRUPTED = "interrupted"
    ABANDONED = "abandoned"


@dataclass(frozen=True, slots=True)
class Form:
    """What the form says, ready to be compared, by item; an item it does not say is absent.

    `asked` are the items that everybody reads, in order. `band_prefix` is what the numbers of
    wristbands begin with before the record number, empty where they are the record number.
    """

    asked: tuple[Item, ...]
    said: Mapping[Item, str]
    band_prefix: str = ""


Readings = Sequence[Reading]


def form_of(
    request: Request, patient: Patient, episode: Episode, zone: tzinfo, band_prefix: str = ""
) -> Form:
    """Answer what the request, the patient's record and the issue say of a unit."""
    born, expires = patient.birth_date, episode.expires_at
    said = {
        Item.NAME: plain_name(f"{patient.family_name} {patient.given_name}"),
        Item.DATE_OF_BIRTH: "" if born is None else plain_day(born),
        Item.RECORD_NUMBER: plain_number(patient.record_number),
        Item.BLOOD_GROUP: episode.blood_group or "",
        Item.EXPIRY: "" if expires is None else plain_minute(expires.astimezone(zone)),
        Item.UNIT_NUMBER: plain_number(plain_unit_number(episode.unit_number or "")),
        Item.PRODUCT: _product_on(episode),
    }
    special = (Item.SPECIAL_REQUIREMENTS,) if request.requirements else ()
    known = {item: text for item, text in said.items() if text}
    return Form((*PATIENT_ITEMS, *BAG_ITEMS, *special), known, band_prefix)


def _product_on(episode: Episode) -> str:
    """The recorded product, `E0336` or with its division `E0336 00`; empty where there is none."""
    if episode.product_code is None:
        return ""
    code, division = split_product(episode.product_code)
    return f"{code} {episode.division or division or ''}".strip()


def agrees(form: Form, reading: Reading) -> bool:
    """Whether a reading agrees with the form; what the form does not say agrees so far."""
    if reading.how in (How.CONFIRMED, How.DENIED):
        return reading.how is How.CONFIRMED
    said = form.said.get(reading.item)
    if said is None:
        return True
    if reading.item is Item.RECORD_NUMBER:
        return reading.value in (said, _band_number(form, said))
    if reading.item is Item.PRODUCT:
        return said in (reading.value, reading.value.split()[0])
    return reading.value == said


def _band_number(form: Form, said: str) -> str:
    """The record number as a GS1 recipient number: prefix, number, check digit; 18 digits."""
    if not form.band_prefix or not said.isdecimal():
        return said
    digits = form.band_prefix + said.zfill(17 - len(form.band_prefix))
    return digits + check_digit(digits)


def left(form: Form, readings: Readings) -> tuple[Item, ...]:
    """Answer what a person has still to read, in order."""
    read = {reading.item for reading in readings}
    return tuple(item for item in form.asked if item not in read)


def compare(form: Form, sides: Sequence[Readings]) -> tuple[CheckedItem, ...]:
    """Answer every item that somebody read, in order, and whether it agrees."""
    everything = [reading for side in sides for reading in side]
    done = all(not left(form, side) for side in sides)
    return tuple(
        CheckedItem(item, matched=_matches(form, everything, item, between=done))
        for item in Item
        if any(reading.item is item for reading in everything)
    )


def _matches(form: Form, everything: Readings, item: Item, *, between: bool) -> bool:
    """Whether all readings of an item agree with the form and, once all is read, together."""
    of_item = [reading for reading in everything if reading.item is item]
    if not all(agrees(form, reading) for reading in of_item):
        return False
    values = {reading.value for reading in of_item if reading.how is not How.CONFIRMED}
    # A record number and the longer number of a wristband are written differently.
    return not between or item is Item.RECORD_NUMBER or len(values) <= 1


def verdict(form: Form, sides: Sequence[Readings], checkers: int) -> CheckState:
    """Answer how a check stands by what was read; `sides` are the readings of each person."""
    if any(not item.matched for item in compare(form, sides)):
        return CheckState.MISMATCHED
    done = len(sides) == checkers and all(not left(form, side) for side in sides)
    return CheckState.MATCHED if done else CheckState.OPEN


def checked(
    form: Form, sides: Mapping[str, Readings], *, interrupted: bool = False
) -> IdentityChecked | None:
    """Answer what a check comes to, None where nobody has read anything.

    `sides` are the readings by person, the first checker first.
    """
    people = [person for person, readings in sides.items() if readings]
    if not people:
        return None
    items = compare(form, [sides[person] for person in people])
    second = people[1] if len(people) > 1 else None
    return IdentityChecked(people[0], items, second, interrupted)


def is_abandoned(last_at: datetime, after: timedelta, now: datetime) -> bool:
    """Whether nobody has gone on with a check for longer than the policy lets it stand."""
    return now - last_at > after


def by_person(
    people: Iterable[str], readings: Iterable[tuple[str, Reading]]
) -> dict[str, list[Reading]]:
    """Answer readings by who read them, in the order of the people."""
    sides: dict[str, list[Reading]] = {person: [] for person in people}
    for person, reading in readings:
        sides[person].append(reading)
    return sides
