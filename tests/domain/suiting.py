"""Units issued for a site with a signed table, and what is found against them."""

from dataclasses import replace
from typing import Any, Final

from server.domain.errors import Refused
from server.domain.gate import require_start
from server.domain.payloads import Issued, Started
from server.domain.picture import Case, picture
from server.domain.site import Site
from server.domain.unit_check import UnitCheck
from server.domain.words import BloodGroup
from tests.domain.builders import CHECKED, PATIENT, SOUND, Fact, at, case, facts_from
from tests.domain.sites import SIGNED

O_NEG: Final = replace(PATIENT, blood_group=BloodGroup.O_NEG)
A_POS: Final = replace(PATIENT, blood_group=BloodGroup.A_POS)


def unit(issued: Issued, *facts: Fact, site: Site = SIGNED, **fields: Any) -> Case:
    """A unit issued at the base, for a site whose table is signed."""
    return replace(case((0, issued), *facts, **fields), site=site)


def check(given: Case, minute: float = 5) -> UnitCheck:
    """How a unit suits its patient, seen at a minute."""
    return picture(given, at(minute)).check


def findings(given: Case, minute: float = 5) -> dict[str, bool]:
    """What speaks against a unit, and whether it stops the start."""
    return {one.code: one.stops for one in check(given, minute).findings}


def start_of(given: Case, *, reason: str | None = None) -> str | None:
    """Why a start at 20 min is refused, None if it is not."""
    started = Started(60, override_reason=reason)
    more = case((0, Issued()), (5, SOUND), (6, CHECKED), (20, started)).events[1:]
    try:
        require_start(facts_from(replace(given, events=(*given.events, *more))), started)
    except Refused as refused:
        return refused.reason
    return None
