"""Every ISBT 128 data structure by its data identifier: length, format, and how it is read.

Source: ICCBBA ST-001 v6.2.2 (2023). The identifier is looked at first, then the length, then the
format: =%6200 is the group A RhD positive, and the same digits behind another identifier are not.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Final, TypeVar

from server.domain.labels.antigens import read_antigens
from server.domain.labels.bag import (
    Antigens,
    Collected,
    Division,
    Expiry,
    Group,
    InfectionMarkers,
    PlateletAntigens,
    Produced,
    Product,
    SpecialTesting,
)
from server.domain.labels.dates import (
    END_OF_DAY,
    read_calendar_day,
    read_day_of_year,
    read_minute,
)
from server.domain.labels.groups import read_group
from server.domain.labels.messages import Compound, National, Other
from server.domain.labels.people import PatientBirthDate, PatientId, StaffNumber
from server.domain.labels.refusals import wrong
from server.domain.labels.unit_numbers import UnitNumber, read_coded

Isbt = (
    UnitNumber | Group | Product | Division | Expiry | Collected | Produced | SpecialTesting
    | Antigens | PlateletAntigens | InfectionMarkers | Compound | PatientBirthDate | PatientId
    | StaffNumber | Other | National
)  # fmt: skip
Reader = Callable[[str], Isbt]
Time = TypeVar("Time", Expiry, Collected, Produced)


@dataclass(frozen=True, slots=True)
class Form:
    """One structure: its words, how many characters follow the identifier, their format.

    `length` takes what follows; `shape` is the format of that many characters.
    """

    words: str
    length: Callable[[str], int]
    shape: re.Pattern[str]
    read: Reader

    def take(self, rest: str) -> tuple[Isbt, str]:
        """Read the structure at the beginning of `rest`; answer it with what follows."""
        length = self.length(rest)
        content = rest[:length]
        if len(content) < length:
            raise wrong(f"{self.words} is cut short; expected {length} characters")
        if self.shape.fullmatch(content) is None:
            raise wrong(f"{self.words} holds a character that cannot stand there")
        return self.read(content), rest[length:]


def form_of(text: str) -> tuple[Form, int]:
    """The structure that `text` begins with, and the length of its identifier."""
    if text[0] == "=" and _FIRST_OF_NUMBER.match(text[1:]):
        return UNIT, 1  # the second character is the first of the number too
    for length in (3, 2):
        form = FORMS.get(text[:length])
        if form is not None:
            return form, length
    raise wrong("begins with a data identifier that is not known; expected one of ISBT 128")


def _fixed(length: int) -> Callable[[str], int]:
    return lambda _rest: length


def _counted(start: int, end: int, each: int = 1) -> Callable[[str], int]:
    """The length of a structure that says itself how many items of `each` characters follow."""

    def length(rest: str) -> int:
        said = rest[start:end]
        if len(said) < end - start or not (said.isascii() and said.isdecimal()):
            raise wrong("lacks the number of what follows; expected digits")
        return end + int(said) * each

    return length


def _form(words: str, shape: str, length: int, read: Reader) -> Form:
    return Form(words, _fixed(length), re.compile(shape), read)


def _day(make: type[Time], content: str) -> Time:
    return make(datetime.combine(read_day_of_year(content), END_OF_DAY), with_time=False)


def _minute(make: type[Time], content: str) -> Time:
    return make(read_minute(content), with_time=True)


def _start_of_day(make: type[Time], content: str) -> Time:
    return make(datetime.combine(read_day_of_year(content), datetime.min.time()), with_time=False)


def _other(number: str, words: str, length: int | Callable[[str], int]) -> Form:
    """A structure that is recognised, cut off at its length, and kept as it is."""
    # It holds neither = nor &: such a character would be the next identifier, read too late.
    taken = length if callable(length) else _fixed(length)
    read = partial(_keep, number, words)
    return Form(f"the {words}", taken, re.compile(r"[!-%'-<>-~]+"), read)


def _keep(number: str, words: str, content: str) -> Other:
    return Other(number, words, content, retired=number == _RETIRED)


_RETIRED: Final = "011"
_FIRST_OF_NUMBER: Final = re.compile(r"[A-NP-Z1-9]")
_DAY: Final = r"[0-9]{6}"
_MINUTE: Final = r"[0-9]{10}"
_DIGITS: Final = r"[0-9]{18}"
UNIT: Final = _form("the unit number", r"[0-9A-Z]{15}", 15, read_coded)
FORMS: Final[dict[str, Form]] = {
    "=%": _form("the group", r"[0-9A-Za-z]{4}", 4, read_group),
    "=<": _form(
        "the product code",
        r"[A-Z][0-9A-Z]{4}[0-9A-Za-z][0-9A-Z][0-9a-z]",
        8,
        lambda content: Product(content[:5], content[5], content[6:]),
    ),
    "=>": _form("the expiry", _DAY, 6, partial(_day, Expiry)),
    "&>": _form("the expiry", _MINUTE, 10, partial(_minute, Expiry)),
    "=*": _form("the collection date", _DAY, 6, partial(_start_of_day, Collected)),
    "&*": _form("the collection date", _MINUTE, 10, partial(_minute, Collected)),
    "=}": _form("the production date", _DAY, 6, partial(_start_of_day, Produced)),
    "&}": _form("the production date", _MINUTE, 10, partial(_minute, Produced)),
    "&(": _form("the special testing", r"[0-9A-Za-z]{5}", 5, SpecialTesting),
    "={": _other("011", "red-cell antigens of a retired structure", 18),
    "=\\": _form("the red-cell antigens", _DIGITS, 18, read_antigens),
    "&\\": _other("013", "red-cell antigens", 18),
    "&{": _form("the platelet antigens", _DIGITS, 18, PlateletAntigens),
    "=)": _other("017", "data structure 017", 10),
    "&)": _other("018", "data structure 018", 10),
    "=;": _other("019", "donor number", 21),
    "='": _form(
        "the staff number",
        r"[0-9A-Za-z]{11}",
        11,
        lambda content: StaffNumber(content[:5], content[5:]),
    ),
    "=-": _other("021", "data structure 021", 10),
    "&-": _other("022", "data structure 022", 10),
    "=+": _form(
        "the head of the message",
        r"[0-9]{5}",
        5,
        lambda content: Compound(int(content[:2]), content[2:]),
    ),
    "=#": _form(
        "the date of birth",
        r"[0-9]{10}",
        10,
        lambda content: PatientBirthDate(content[:2], read_calendar_day(content[2:])),
    ),
    "&#": Form(
        "the patient's number",
        _counted(2, 4),
        re.compile(r"[0-9]{4}[0-9A-Za-z]+"),
        lambda content: PatientId(content[:2], content[4:]),
    ),
    "=]": _other("026", "data structure 026", 6),
    '&"': _form("the infection markers", _DIGITS, 18, InfectionMarkers),
    "=$": _other("028", "data structure 028", 16),
    "&$": _other("029", "dimensions", _counted(0, 2, 14)),
    "&%": _other("030", "antigens with test history", _counted(0, 3, 10)),
    "=(": _other("031", "data structure 031", 16),
    "=,": _form("the division", r"[0-9A-Za-z]{6}", 6, Division),
    "&+": _other("033", "processing facility", 11),
    "=/": _other("034", "product code of the processor", 16),
    "&,1": _other("035", "lot number", 18),
    "&,2": _other("036", "supplemental number", 18),
    "&,4": _other("038", "European code", 40),
    "&/": _other("040", "data structure 040", 15),
}
