"""What a scanner sent, as structures: one, several read together, or a compound message.

The first character decides: = and & are ISBT 128; a GS1 symbol or a GS1 number is GS1; the rest is
a record number. Symbols are named by AIM identifiers in front, ]C0 and the like.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.labels.forms import Isbt, form_of
from server.domain.labels.gs1 import GS1_SYMBOLS, LOOKS_LIKE_GS1, Gs1, read_gs1
from server.domain.labels.messages import Compound, National
from server.domain.labels.people import RecordNumber
from server.domain.labels.refusals import wrong
from server.domain.labels.unit_numbers import LENGTH, SHAPE, read_unit_number

Structure = Isbt | Gs1 | RecordNumber
Wanted = TypeVar("Wanted", bound=Structure)

_FRAME: Final = "\x02\x03\r\n\t "
_AIM: Final = re.compile(r"\]([A-Za-z])([0-9A-Za-z])")
_CONTROL: Final = re.compile(r"[\x00-\x1c\x1e\x1f\x7f-\x9f]")
_NATIONAL: Final = re.compile(r"(&[a-z;!])([!-%'-<>-~]+)")
_RECORD: Final = re.compile(r"(?=.*[0-9])[0-9A-Za-z][0-9A-Za-z ./-]{0,39}")
_CAPS: Final = "capital and small letters look swapped: is Caps Lock on?"


@dataclass(frozen=True, slots=True)
class Scan:
    """The structures of one read, in their order. The head of a compound message is among them."""

    structures: tuple[Structure, ...]

    def find(self, kind: type[Wanted]) -> Wanted | None:
        """The structure of a kind, None if there is none; no kind stands twice in a scan."""
        return next((one for one in self.structures if isinstance(one, kind)), None)


def read_scan(scan: str, record_number: re.Pattern[str] | None = None) -> Scan:
    """Read what a scanner sent. Raises `Invalid("scan", …)` with the reason.

    `record_number` is what a site's plain record numbers look like, if it has said so. A
    terminator and the frame of STX and ETX are taken off, an AIM identifier too. Nothing of
    what cannot be read is dropped: then the whole scan is refused.
    """
    text = scan.strip(_FRAME)
    if not text:
        raise wrong("is empty; expected what a scanner reads from a label")
    if len(text) > limits.SCAN:
        raise wrong(f"is {len(text)} characters long; expected at most {limits.SCAN}")
    if _CONTROL.search(text):
        raise wrong("holds a control character; expected one label, or labels read as one")
    try:
        return Scan(_read(text, record_number))
    except Invalid as refusal:
        if _is_swapped(text, record_number):
            raise wrong(f"{refusal.message}; {_CAPS}") from None
        raise


def _is_swapped(text: str, record_number: re.Pattern[str] | None) -> bool:
    """Whether it would be a label with small letters for capital ones."""
    try:
        read = _read(text.swapcase(), record_number)
        return not isinstance(read[0], RecordNumber)
    except Invalid:
        return False


def _read(text: str, record_number: re.Pattern[str] | None) -> tuple[Structure, ...]:
    symbol = _AIM.match(text)
    plain = text[symbol.end() :] if symbol else text
    if not plain:
        raise wrong("holds nothing behind its symbol; expected a label")
    if symbol and symbol[1] + symbol[2] in GS1_SYMBOLS:
        return _each_once(read_gs1(plain))
    if plain[:1] in ("=", "&"):
        return _isbt(plain)
    if LOOKS_LIKE_GS1.fullmatch(plain):
        return _each_once(read_gs1(plain))
    return (_plain(plain, record_number),)


def _isbt(text: str) -> tuple[Structure, ...]:
    national = _NATIONAL.fullmatch(text)
    if national:
        return (National(national[1], national[2]),)
    found: list[Structure] = []
    rest = text
    while rest:
        form, identifier = form_of(rest)
        structure, rest = form.take(rest[identifier:])
        found.append(structure)
    _require_whole(found)
    return _each_once(found)


def _require_whole(found: Sequence[Structure]) -> None:
    """A compound message holds as many structures as its head says, and no other message."""
    heads = [one for one in found if isinstance(one, Compound)]
    if not heads:
        return
    if found[0] is not heads[0] or len(heads) > 1:
        raise wrong("holds a compound message inside another read; scan it alone")
    present = len(found) - 1
    if present != heads[0].count:
        raise wrong(f"holds {present} structures; expected {heads[0].count} as its head says")


def _each_once(found: Sequence[Structure]) -> tuple[Structure, ...]:
    """Take a label that was read twice as one; two labels of a kind are refused."""
    once = tuple(dict.fromkeys(found))
    kinds = [(one.kind, one.data_structure if one.kind == "other" else "") for one in once]
    if len(set(kinds)) < len(kinds):
        raise wrong("holds two different labels of one kind; scan one bag, then the other")
    return once


def _plain(text: str, record_number: re.Pattern[str] | None) -> Structure:
    """A record number, or a unit number that somebody typed with its check character."""
    if record_number is not None and record_number.fullmatch(text):
        return RecordNumber(text)
    if text[:1].isalpha() and SHAPE.match(text.replace(" ", "").upper()):
        return _typed(text)
    if record_number is not None or _RECORD.fullmatch(text) is None:
        raise wrong("is no label that is read here; expected ISBT 128, GS1 or a record number")
    return RecordNumber(text)


def _typed(text: str) -> Structure:
    if len(text.replace(" ", "")) > LENGTH + 1:
        raise wrong("looks like a unit number without its data identifier; scan it again")
    try:
        return read_unit_number(text)
    except Invalid as refusal:
        raise wrong(f"looks like a unit number that {refusal.message}") from None
