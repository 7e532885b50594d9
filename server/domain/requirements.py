"""Special requirements of an order, and what a label can show of them.

The names follow the open data structures where there are any; irradiated and washed are part of a
licence-bound product description, which only the site's own table can translate.
"""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from enum import StrEnum
from typing import Final

from server.domain import limits
from server.domain.attributes import WORDS as ATTRIBUTE_WORDS
from server.domain.attributes import Attribute
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text

CLOSE: Final = 0.8
"""How like a known word a slip of the finger is."""


class Requirement(StrEnum):
    """A special requirement that has a name."""

    IRRADIATED = "irradiated"
    CMV_NEGATIVE = "cmv_negative"
    HEV_NEGATIVE = "hev_negative"
    WASHED = "washed"
    PHENOTYPE_MATCHED = "phenotype_matched"
    ANTIGEN_NEGATIVE = "antigen_negative"
    K_NEGATIVE = "k_negative"
    HBS_NEGATIVE = "hbs_negative"
    HLA_MATCHED = "hla_matched"
    HIGH_TITRE_NEGATIVE = "high_titre_negative"


CONTRARY: Final[Mapping[Requirement, Attribute]] = {
    Requirement.CMV_NEGATIVE: Attribute.CMV_POSITIVE,
    Requirement.HEV_NEGATIVE: Attribute.HEV_POSITIVE,
    Requirement.K_NEGATIVE: Attribute.K_POSITIVE,
    Requirement.HIGH_TITRE_NEGATIVE: Attribute.HIGH_TITRE,
}
"""What on a label says that a requirement is not met."""

WORDS: Final[Mapping[Requirement, str]] = {
    one: ATTRIBUTE_WORDS[Attribute(one.value)] for one in Requirement
}
"""How a screen says a requirement: as what answers it."""


def requirement_of(text: str) -> Requirement | None:
    """The requirement that a text names, by its slug or in words; None for a free text."""
    return _NAMED.get(_folded(text))


def words_of(text: str) -> str:
    """A requirement as it is shown; a free text speaks for itself."""
    known = requirement_of(text)
    return text if known is None else WORDS[known]


def require_sound(requirements: Iterable[str]) -> None:
    """Refuse a requirement that is empty, overlong, named twice or a slip of the finger.

    Raises `Invalid`.
    """
    seen: set[str] = set()
    for text in requirements:
        require_text("requirements", text, limits.LONG_TEXT)
        folded = _folded(text)
        if folded in seen:
            raise Invalid("requirements", f"“{text}” is named twice; expected each once")
        seen.add(folded)
        _refuse_slip(text, folded)


def _refuse_slip(text: str, folded: str) -> None:
    if folded in _NAMED:
        return
    near = get_close_matches(folded, _NAMED, n=1, cutoff=CLOSE)
    if near:
        raise Invalid("requirements", f"“{text}” is unknown; expected {near[0]}")
    if "_" in text:
        known = ", ".join(Requirement)
        raise Invalid(
            "requirements", f"“{text}” is unknown; expected one of {known}, or a text in words"
        )


def _folded(text: str) -> str:
    return "_".join(text.casefold().replace("-", " ").replace("_", " ").split())


_NAMED: Final[Mapping[str, Requirement]] = {one.value: one for one in Requirement}
