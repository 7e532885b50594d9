"""The special requirements of an order against what the label can show."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from server.domain.attributes import Attribute
from server.domain.requirements import CONTRARY, WORDS, Requirement, requirement_of
from server.domain.site import Coded, CompatibilityTable
from server.domain.wording import COMPONENT
from server.domain.words import Component

LABEL: Final = "the label"
PRODUCTS: Final = "the site’s product table"
UNVERIFIED: Final = "cannot be verified from the label"


class State(StrEnum):
    """What the label shows of a requirement."""

    MET = "met"
    NOT_MET = "not_met"
    UNVERIFIED = "unverified"
    NOT_NEEDED = "not_needed"


@dataclass(frozen=True, slots=True)
class RequirementCheck:
    """One requirement; `requirement` None is a free text. `detail` stands after its words."""

    requirement: Requirement | None
    words: str
    state: State
    detail: str
    source: str


def check_requirements(
    ordered: Iterable[str],
    *,
    component: Component,
    shown: Iterable[str],
    product: Coded | None,
    table: CompatibilityTable | None,
) -> tuple[RequirementCheck, ...]:
    """Check every requirement of an order, in the order's own order.

    `shown` are attributes from the label or the laboratory, `product` what the site's table says
    of the product code.
    """
    label = {Attribute(name) for name in shown}
    described = {} if product is None else product.shows
    return tuple(_check(text, component, label, described, table) for text in ordered)


def _check(
    text: str,
    component: Component,
    label: set[Attribute],
    described: Mapping[Attribute, bool],
    table: CompatibilityTable | None,
) -> RequirementCheck:
    known = requirement_of(text)
    if known is None:
        return RequirementCheck(None, text, State.UNVERIFIED, UNVERIFIED, "")
    row = None if table is None else table.requirements[known]
    if row is not None and component not in row.components:
        detail = f"does not apply to {COMPONENT[component].lower()}"
        return RequirementCheck(known, WORDS[known], State.NOT_NEEDED, detail, row.source)
    state, detail, source = _seen(known, label, described)
    return RequirementCheck(known, WORDS[known], state, detail, source)


def _seen(
    known: Requirement, label: set[Attribute], described: Mapping[Attribute, bool]
) -> tuple[State, str, str]:
    """What says no counts before what says yes."""
    wanted, contrary = Attribute(known.value), CONTRARY.get(known)
    if contrary is not None and contrary in label:
        return State.NOT_MET, "the label says otherwise", LABEL
    if described.get(wanted) is False or (contrary is not None and described.get(contrary)):
        return State.NOT_MET, "the product description says otherwise", PRODUCTS
    if wanted in label:
        return State.MET, "the label says so", LABEL
    if described.get(wanted):
        return State.MET, "the product description says so", PRODUCTS
    return State.UNVERIFIED, UNVERIFIED, ""
