"""What a checker read at the bedside: scanned, typed, or heard from the patient, made comparable.

Names compare without case, accents, order and spaces; dates by value; unit numbers without their
check character, which a typed one has to carry.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from functools import singledispatch
from typing import Any, Final

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.labels import (
    DIVIDED_APART,
    Division,
    Expiry,
    Group,
    PatientBirthDate,
    PatientId,
    Product,
    RecipientNumber,
    RecordNumber,
    Scan,
    Structure,
    UnitNumber,
    read_scan,
    read_unit_number,
)
from server.domain.labels.dates import END_OF_DAY
from server.domain.labels.unit_numbers import SHAPE
from server.domain.payloads.values import require_text
from server.domain.words import BloodGroup


class Item(StrEnum):
    """What is compared, in the order it is read: patient against form, then form against bag."""

    NAME = "name"
    DATE_OF_BIRTH = "date_of_birth"
    RECORD_NUMBER = "record_number"
    BLOOD_GROUP = "blood_group"
    EXPIRY = "expiry"
    UNIT_NUMBER = "unit_number"
    PRODUCT = "product"
    SPECIAL_REQUIREMENTS = "special_requirements"


class How(StrEnum):
    """How a reading came about; a `denied` one says that the two do not agree."""

    SCANNED = "scanned"
    TYPED = "typed"
    CONFIRMED = "confirmed"
    DENIED = "denied"


CONFIRMABLE: Final = frozenset({Item.NAME, Item.DATE_OF_BIRTH, Item.SPECIAL_REQUIREMENTS})
"""Items without a code of their own: the patient says them, or several marks on the bag do."""

COMBINING: Final = ("\u0300", "\u036f")
PLAIN: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "æ": "ae", "œ": "oe", "ð": "d", "þ": "th", "ı": "i"}
)


@dataclass(frozen=True, slots=True)
class Reading:
    """One item as one person read it: `value` is compared, `entered` is what came in."""

    item: Item
    how: How
    value: str
    entered: str


def confirmed(item: Item) -> Reading:
    """Answer that the patient, or the bag, says what the form says. Raises `Invalid`."""
    if item not in CONFIRMABLE:
        raise Invalid(item, "cannot be confirmed by a touch; expected a scan or what is written")
    return Reading(item, How.CONFIRMED, "", "")


def denied(item: Item) -> Reading:
    """Answer that a person says an item does not agree."""
    return Reading(item, How.DENIED, "", "")


def typed(item: Item, text: str, said: str = "") -> Reading:
    """Answer an item as it was typed; `said` is what the form says of it.

    Raises `Invalid` for what such an item cannot be. A unit number demands its check character,
    unless the form itself holds a number of another kind.
    """
    require_text(item, text, limits.SHORT_TEXT)
    is_other_kind = item is Item.UNIT_NUMBER and said and not SHAPE.fullmatch(said)
    read = plain_number if is_other_kind else _READERS[item]
    return Reading(item, How.TYPED, read(text), text.strip())


def scanned(scan: str, record_number: re.Pattern[str] | None = None) -> tuple[Reading, ...]:
    """Answer the items that one scan fills: one code, or several joined. Raises `Invalid`.

    `record_number` is what a site's plain record numbers look like. Structures that this check
    does not ask for are passed over; a scan of nothing else is refused.
    """
    read = read_scan(scan, record_number)
    found = [one for structure in _whole(read) for one in _read(structure)]
    if not found:
        raise Invalid("scan", "holds nothing this check asks for; expected a wristband or a bag")
    return tuple(Reading(item, how, value, scan) for item, how, value in found)


def _whole(read: Scan) -> Iterator[Structure]:
    """The structures of a scan, a product with the division that a code of its own says."""
    apart = read.find(Division)
    for one in read.structures:
        if isinstance(one, Product) and apart is not None and one.division == DIVIDED_APART:
            yield replace(one, division=apart.code)
        else:
            yield one


def plain_name(text: str) -> str:
    """Answer a name for comparing: its words without case, accents and apostrophes, sorted."""
    low = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold())
    bare = "".join(sign for sign in low if not COMBINING[0] <= sign <= COMBINING[1])
    joined = bare.translate(PLAIN).replace("'", "").replace("\u2019", "")
    apart = "".join(sign if sign.isalnum() or _is_mark(sign) else " " for sign in joined)
    return " ".join(sorted(apart.split()))


def _is_mark(sign: str) -> bool:
    """Whether a sign belongs to the letter before it: vowels of many scripts are marks."""
    return unicodedata.category(sign).startswith("M")


def plain_number(text: str) -> str:
    """Answer a record number for comparing: without blanks, in capitals."""
    return "".join(unicodedata.normalize("NFKC", text).split()).upper()


def plain_day(day: date) -> str:
    """Answer a date for comparing."""
    return day.isoformat()


def plain_minute(at: datetime) -> str:
    """Answer a ward-local expiry for comparing, to the minute as labels state it."""
    return at.replace(tzinfo=None).isoformat(timespec="minutes")


def _day(text: str) -> str:
    try:
        return plain_day(date.fromisoformat(text.strip()))
    except ValueError:
        raise Invalid(Item.DATE_OF_BIRTH, "is no date; expected for example 1961-05-04") from None


def _minute(text: str) -> str:
    """A typed expiry, `2026-03-05T14:30`; a date alone lasts to the end of that day."""
    stripped = text.strip()
    try:
        if "T" in stripped:
            return plain_minute(datetime.fromisoformat(stripped))
        return plain_minute(datetime.combine(date.fromisoformat(stripped), END_OF_DAY))
    except ValueError:
        raise Invalid(Item.EXPIRY, "is no date; expected the date and time of the label") from None


def _group(text: str) -> str:
    try:
        return BloodGroup(text.strip())
    except ValueError:
        raise Invalid(Item.BLOOD_GROUP, "is no group; expected for example O+") from None


_READERS: Final[dict[Item, Callable[[str], str]]] = {
    Item.NAME: plain_name,
    Item.DATE_OF_BIRTH: _day,
    Item.RECORD_NUMBER: plain_number,
    Item.BLOOD_GROUP: _group,
    Item.EXPIRY: _minute,
    Item.UNIT_NUMBER: lambda text: read_unit_number(text).number,
    Item.PRODUCT: plain_number,
    Item.SPECIAL_REQUIREMENTS: plain_name,
}

Found = Iterator[tuple[Item, How, str]]


@singledispatch
def _read(_structure: Any) -> Found:
    """The items that a structure of a label or a wristband says something about."""
    return iter(())


@_read.register
def _(structure: UnitNumber) -> Found:
    # The number of a tube or of a record of the same donation is not read from the bag.
    if structure.stops:
        yield Item.UNIT_NUMBER, How.DENIED, structure.stops
    else:
        yield Item.UNIT_NUMBER, How.SCANNED, structure.number


@_read.register
def _(structure: Group) -> Found:
    # A bag that says it must not be given never agrees, whatever its group.
    if structure.stops or structure.group is None:
        yield Item.BLOOD_GROUP, How.DENIED, structure.stops or structure.code
    else:
        yield Item.BLOOD_GROUP, How.SCANNED, structure.group.value


@_read.register
def _(structure: Product) -> Found:
    if structure.stops:
        yield Item.PRODUCT, How.DENIED, structure.stops
    else:
        yield Item.PRODUCT, How.SCANNED, f"{structure.code} {structure.division}"


@_read.register
def _(structure: Expiry) -> Found:
    yield Item.EXPIRY, How.SCANNED, plain_minute(structure.at)


@_read.register
def _(structure: PatientBirthDate) -> Found:
    yield Item.DATE_OF_BIRTH, How.SCANNED, plain_day(structure.date)


@_read.register
def _(structure: PatientId) -> Found:
    yield Item.RECORD_NUMBER, How.SCANNED, plain_number(structure.number)


@_read.register
def _(structure: RecipientNumber) -> Found:
    yield Item.RECORD_NUMBER, How.SCANNED, structure.gsrn


@_read.register
def _(structure: RecordNumber) -> Found:
    yield Item.RECORD_NUMBER, How.SCANNED, plain_number(structure.text)
