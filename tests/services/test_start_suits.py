"""A unit that does not suit its patient is not started without a reason, which stays."""

from dataclasses import replace

import pytest

from server.domain.errors import Invalid, Refused
from server.domain.payloads import Issued, Started
from server.domain.site import NO_SITE
from server.domain.words import BloodGroup, Component, Phase
from server.services.open_order import OrderDraft, open_order
from tests.domain.builders import at
from tests.domain.sites import SIGNED
from tests.services.charting import BEFORE_START, START, Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import P1, PROGRAM, register

WRONG = "Red cells, unit A−, patient O−: never: stop"


@pytest.fixture
def unit(charting: Charting) -> Charting:
    """Unit `e1` of group A, issued and checked for a patient of group O."""
    with charting.store.write() as session:
        register(session, replace(P1, blood_group=BloodGroup.O_NEG))
    charting.open()
    charting.record(0, Issued(blood_group=BloodGroup.A_NEG))
    for payload in BEFORE_START:
        charting.record(5, payload)
    charting.store.site = SIGNED
    return charting


@ON_BOTH_ENGINES
def test_the_start_is_refused_and_nothing_is_stored(unit: Charting) -> None:
    before = unit.everything()

    with pytest.raises(Refused) as refused:
        unit.record(10, START)

    assert refused.value.reason == f"The start is refused: {WRONG}."
    assert (refused.value.phase, unit.everything()) == (Phase.ISSUED, before)


def test_what_stops_is_listed_before_the_start(unit: Charting) -> None:
    assert unit.episode(10).missing == (WRONG,)


@ON_BOTH_ENGINES
def test_a_reason_opens_the_start_and_stays_with_what_it_was_given_against(
    unit: Charting,
) -> None:
    unit.record(10, Started(60, override_reason="massive bleeding"))

    looked = unit.episode(600).picture

    assert (looked.episode.override_reason, looked.overridden) == ("massive bleeding", (WRONG,))


def test_a_store_without_a_site_judges_nothing(unit: Charting) -> None:
    unit.store.site = NO_SITE

    unit.record(10, START)

    assert unit.episode(11).picture.overridden == ()


def test_a_wrong_requirement_places_no_order(charting: Charting) -> None:
    draft = OrderDraft("o1", "p1", "w1", "4", Component.RED_CELLS, 1, requirements=("iradiated",))

    with pytest.raises(Invalid) as refused, charting.store.write() as session:
        open_order(session, PROGRAM, draft, now=at(0))

    assert (refused.value.field, refused.value.message) == (
        "requirements",
        "“iradiated” is unknown; expected irradiated",
    )
