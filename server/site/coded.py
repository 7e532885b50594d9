"""`products.csv` and `special_testing.csv`: what licence-bound codes stand for.

UTF-8, comma, header line. `product_code,component,…` and `special_testing_code,…`; every further
column is the name of an attribute, and holds `yes`, `no`, or nothing where the code says nothing
of it.
"""

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, NoReturn

from server.domain.attributes import Attribute
from server.domain.policy import PolicyError
from server.domain.policy.opened import near
from server.domain.site import Coded
from server.domain.words import Component

CODE: Final = re.compile(r"[A-Z0-9]{5}")
ANSWERS: Final = {"yes": True, "no": False, "": None}
COMPONENTS: Final = tuple(one.value for one in Component)
ATTRIBUTES: Final = tuple(one.value for one in Attribute)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One kind of file: its name and the columns that come first."""

    file: str
    leading: tuple[str, ...]

    def refuse(self, line: int, message: str) -> NoReturn:
        raise PolicyError(self.file, line, message)


PRODUCTS: Final = _Sheet("products.csv", ("product_code", "component"))
SPECIAL_TESTING: Final = _Sheet("special_testing.csv", ("special_testing_code",))


def read_products(text: str) -> dict[str, Coded]:
    """Answer the products by the five characters of their code. Raises `PolicyError`."""
    return _read(PRODUCTS, text)


def read_special_testing(text: str) -> dict[str, Coded]:
    """Answer the special testing codes by their five characters. Raises `PolicyError`."""
    return _read(SPECIAL_TESTING, text)


def _read(sheet: _Sheet, text: str) -> dict[str, Coded]:
    rows = _rows(sheet, text)
    line, header = next(rows, (1, []))
    attributes = _attributes(sheet, line, header)
    found: dict[str, Coded] = {}
    for line, row in rows:
        if len(row) != len(header):
            sheet.refuse(line, f"{len(row)} fields; expected {len(header)} as in the header")
        coded = _coded(sheet, line, row, attributes)
        if coded.code in found:
            sheet.refuse(line, f"{coded.code} stands twice; expected each code once")
        found[coded.code] = coded
    return found


def _rows(sheet: _Sheet, text: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(text.splitlines(), strict=True)
    try:
        for row in reader:
            yield reader.line_num, [field.strip() for field in row]
    except csv.Error as error:
        sheet.refuse(reader.line_num, f"{error}; expected fields between commas")


def _attributes(sheet: _Sheet, line: int, header: list[str]) -> tuple[Attribute, ...]:
    leading = len(sheet.leading)
    if tuple(header[:leading]) != sheet.leading or len(header) == leading:
        expected = f"{','.join(sheet.leading)} and at least one attribute"
        sheet.refuse(line, f"the header is {','.join(header)!r}; expected {expected}")
    for name in header[leading:]:
        if name not in ATTRIBUTES:
            sheet.refuse(line, f"{name!r} is no attribute; {near(name, ATTRIBUTES)}")
        if header.count(name) > 1:
            sheet.refuse(line, f"{name} stands twice; expected each column once")
    return tuple(Attribute(name) for name in header[leading:])


def _coded(sheet: _Sheet, line: int, row: list[str], attributes: tuple[Attribute, ...]) -> Coded:
    code, leading = row[0], len(sheet.leading)
    if not CODE.fullmatch(code):
        sheet.refuse(line, f"{code!r} is no code; expected five characters A-Z and 0-9")
    component = _component(sheet, line, row[1]) if "component" in sheet.leading else None
    said = zip(attributes, row[leading:], strict=True)
    shows = {name: _answer(sheet, line, name, text) for name, text in said}
    return Coded(code, component, _stated(shows))


def _stated(shows: Mapping[Attribute, bool | None]) -> dict[Attribute, bool]:
    return {name: answer for name, answer in shows.items() if answer is not None}


def _component(sheet: _Sheet, line: int, text: str) -> Component:
    if text not in COMPONENTS:
        sheet.refuse(line, f"{text!r} is no component; {near(text, COMPONENTS)}")
    return Component(text)


def _answer(sheet: _Sheet, line: int, name: str, text: str) -> bool | None:
    if text not in ANSWERS:
        sheet.refuse(line, f"{name}: {text!r}; expected yes, no or nothing")
    return ANSWERS[text]
