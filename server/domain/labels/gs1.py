"""GS1 element strings of wristbands and badges: application identifiers 8017, 8018 and 8019.

Source: GS1 General Specifications as ISO/TS 18530 applies them: a service relation number has 18
digits, the last one a check digit by modulo 10; a service instance number has 1 to 10 digits.
"""

import re
from typing import Final

from server.domain.labels.people import ProviderNumber, RecipientNumber, ServiceInstance
from server.domain.labels.refusals import wrong

GROUP_SEPARATOR: Final = "\x1d"
GS1_SYMBOLS: Final = frozenset({"C1", "d2", "Q3", "e0"})
LOOKS_LIKE_GS1: Final = re.compile(r"801[789]\d{15,}[\d\x1d]*", re.ASCII)
_GSRN: Final = re.compile(r"\d{18}", re.ASCII)
_INSTANCE: Final = re.compile(r"(\d{1,10})(?:\x1d|$)", re.ASCII)
_IDENTIFIER: Final = 4

Gs1 = RecipientNumber | ProviderNumber | ServiceInstance


def read_gs1(text: str) -> tuple[Gs1, ...]:
    """Read one element after the other; a separator after a number of fixed length may be lost."""
    found: list[Gs1] = []
    rest = text.strip(GROUP_SEPARATOR)
    while rest:
        element, rest = _element(rest)
        found.append(element)
    return tuple(found)


def check_digit(digits: str) -> str:
    """The check digit of the digits before it: weights 3 and 1 from the right, modulo 10."""
    total = sum(
        int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(digits))
    )
    return str(-total % 10)


def _element(text: str) -> tuple[Gs1, str]:
    identifier, content = text[:_IDENTIFIER], text[_IDENTIFIER:]
    if identifier == "8019":
        return _instance(content)
    if identifier not in ("8017", "8018"):
        raise wrong("holds a GS1 element that is not read here; expected 8017, 8018 or 8019")
    number, rest = content[:18], content[18:].removeprefix(GROUP_SEPARATOR)
    if _GSRN.fullmatch(number) is None:
        raise wrong(f"is cut short after {identifier}; expected 18 digits")
    if number[-1] != check_digit(number[:-1]):
        raise wrong(f"has a wrong check digit after {identifier}; scan it again")
    return (RecipientNumber if identifier == "8018" else ProviderNumber)(number), rest


def _instance(content: str) -> tuple[ServiceInstance, str]:
    found = _INSTANCE.match(content)
    if found is None:
        raise wrong("holds a service instance of another length; expected 1 to 10 digits")
    return ServiceInstance(found[1]), content[found.end() :]
