"""Donation identification numbers: scanned, typed, compared.

Source: ICCBBA ST-001 v6.2.2 (2023), data structure 001 and 7.5. A number alone does not tell a
bag: two packs of one donation share it, so that product code and division belong to a unit.
"""

import re
from dataclasses import dataclass
from typing import ClassVar, Final

from server.domain.errors import Invalid
from server.domain.labels.check_character import check_character, check_flags
from server.domain.labels.refusals import wrong

UNIT_NUMBER: Final = "unit_number"
SHAPE: Final = re.compile(r"[A-NP-Z1-9][A-NP-Z0-9]{2}[0-9]{10}")
LENGTH: Final = 13
_CODED: Final = re.compile(r"=?([A-NP-Z1-9][A-NP-Z0-9]{2}[0-9]{10})([0-9]{2})?")
PRODUCT_CODE: Final = re.compile(r"[A-Z][0-9A-Z]{4}")
_PRODUCT: Final = re.compile(r"(?:=<)?([A-Z][0-9A-Z]{4})(?:[0-9A-Za-z]([0-9A-Z][0-9a-z]))?")
_CHECK_FLAGS: Final = range(60, 97)
_LOCAL_FLAGS: Final = range(20, 60)
_NOT_A_BAG: Final = range(6, 11)
_FLAGS: Final = {
    "00": "not used",
    "05": "second label",
    "06": "pilot tube",
    "07": "test tube",
    "08": "donor record",
    "09": "sample tube for nucleic acid testing",
    "10": "sample for bacterial testing",
    "11": "label to match with the unit",
    "12": "affixed partial label",
    "13": "attached label",
    "01": "container 1 of a set",
    "02": "container 2 of a set",
    "03": "container 3 of a set",
    "04": "container 4 of a set",
    "15": "container 5 of a set",
    "16": "container 6 of a set",
    "17": "container 7 of a set",
    "18": "container 8 of a set",
    "19": "container 9 of a set",
}


@dataclass(frozen=True, slots=True)
class UnitNumber:
    """A donation identification number: 13 characters, and the two flags of the bar code."""

    kind: ClassVar[str] = "unit_number"
    data_structure: ClassVar[str] = "001"
    number: str
    flags: str = "00"

    @property
    def check_character(self) -> str:
        """The character in the box behind the number."""
        return check_character(self.number)

    @property
    def facility(self) -> str:
        """The facility that gave the number."""
        return self.number[:5]

    @property
    def year(self) -> str:
        """The last two digits of the year in which it was given."""
        return self.number[5:7]

    @property
    def serial(self) -> str:
        """The number within facility and year."""
        return self.number[7:]

    @property
    def flag_says(self) -> str:
        """What the flags say of the label that was read."""
        if int(self.flags) in _CHECK_FLAGS:
            return "carries the check value"
        local = int(self.flags) in _LOCAL_FLAGS
        return "defined locally" if local else _FLAGS.get(self.flags, "reserved")

    @property
    def is_of_bag(self) -> bool:
        """Whether the label is on a bag: flags 06 to 10 stand for tubes and records."""
        return int(self.flags) not in _NOT_A_BAG

    @property
    def stops(self) -> str | None:
        """Why this label does not stand for a bag."""
        return None if self.is_of_bag else f"it is not the label of a bag: {self.flag_says}"

    @property
    def shown(self) -> str:
        """The number in groups, with its check character, as people type it."""
        return f"{self.facility} {self.year} {self.serial} {self.check_character}"


def read_coded(content: str) -> UnitNumber:
    """Read the 15 characters behind the identifier of a bar code."""
    number, flags = content[:LENGTH], content[LENGTH:]
    if SHAPE.fullmatch(number) is None or not flags.isdecimal():
        raise wrong(
            "is no unit number; expected a facility of five characters, two digits of the year, "
            "six digits and two flags"
        )
    if int(flags) in _CHECK_FLAGS and flags != check_flags(number):
        raise wrong("carries a check value that does not fit its number; scan it again")
    return UnitNumber(number, flags)


def read_unit_number(typed: str) -> UnitNumber:
    """Read a number that somebody typed: 13 characters and the check character, blanks ignored.

    Raises `Invalid("unit_number", …)`.
    """
    plain = "".join(typed.split()).upper()
    number, check = plain[:LENGTH], plain[LENGTH:]
    if SHAPE.fullmatch(number) is None:
        raise Invalid(
            UNIT_NUMBER,
            "is no unit number; expected its 13 characters and the check character in the box",
        )
    if not check:
        raise Invalid(
            UNIT_NUMBER,
            "lacks its check character; expected the 13 characters and the one in the box",
        )
    if check != check_character(number):
        raise Invalid(
            UNIT_NUMBER,
            "does not fit its check character; expected the number as it is on the label",
        )
    return UnitNumber(number)


def plain_unit_number(text: str) -> str:
    """A number as other programs send it, with or without identifier and flags, as 13 characters.

    A number of another kind is answered as it is. Raises `Invalid("unit_number", …)` for one with
    its identifier whose check value does not fit.
    """
    found = _CODED.fullmatch(text)
    if found is None:
        return text
    number, flags = found[1], found[2] or "00"
    if int(flags) not in _CHECK_FLAGS or flags == check_flags(number):
        return number
    if text.startswith("="):
        raise Invalid(UNIT_NUMBER, "carries a check value that does not fit; scan it again")
    return text  # fifteen characters by chance: the number of another scheme


def split_product(text: str) -> tuple[str, str | None]:
    """A product code as it is sent, alone or with collection and division: code and division.

    A code of another kind is answered as it is.
    """
    found = _PRODUCT.fullmatch(text)
    return (found[1], found[2]) if found else (text, None)
