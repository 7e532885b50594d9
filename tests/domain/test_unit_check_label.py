"""One unit against its label, its order and its sample; and what an override leaves behind."""

from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from server.domain.advices import Advice
from server.domain.attributes import Attribute
from server.domain.gate import gaps_before_start, overridden_at_start
from server.domain.payloads import Issued, Started
from server.domain.picture import Picture, picture
from server.domain.requirement_check import RequirementCheck, State
from server.domain.requirements import Requirement
from server.domain.site import NO_SITE
from server.domain.unit_check import Finding
from server.domain.words import BloodGroup, Component
from tests.domain.builders import CHECKED, PATIENT, SOUND, around, at, case, facts_from
from tests.domain.sites import SIGNED
from tests.domain.suiting import A_POS, O_NEG, check, findings, start_of, unit


def test_an_expired_unit_stops_the_start_from_the_second_after() -> None:
    before, limit, after = around(at(20))
    asked = [
        start_of(unit(Issued(expires_at=expires), site=NO_SITE))
        for expires in (after, limit, before)
    ]

    assert asked == [None, None, "The start is refused: the unit expired at 10:19."]


def test_an_expiry_of_another_day_is_said_with_its_date() -> None:
    given = unit(Issued(expires_at=at(-60 * 24 * 20)))

    (found,) = check(given).findings

    assert found == Finding(
        "unit_expired",
        "the unit expired at Wed 11 Feb 10:00",
        "The unit expired at Wed 11 Feb 10:00.",
        "the label",
        stops=True,
    )


@pytest.mark.parametrize(
    ("attribute", "words"),
    [
        ("biohazard", "the label says biohazard"),
        ("autologous", "the label says that the unit is for its own donor"),
        ("quarantined", "the label says that the unit is in quarantine"),
        ("not_for_transfusion", "the label says that the unit is not for transfusion"),
        ("ask_laboratory", "the group code of the label is for the laboratory to judge"),
    ],
)
def test_a_label_can_stop_a_unit(attribute: str, words: str) -> None:
    given = unit(Issued(attributes=(attribute,)))

    assert findings(given) == {f"label_{attribute}": True}
    assert start_of(given) == f"The start is refused: {words}."
    assert start_of(given, reason="it is this patient’s own") is None


@pytest.mark.parametrize("attribute", ["emergency_use", "directed"])
def test_a_label_can_warn(attribute: str) -> None:
    given = unit(Issued(attributes=(attribute, "cmv_negative")))

    assert (findings(given), start_of(given)) == ({f"label_{attribute}": False}, None)


def test_the_product_decides_the_component_and_must_be_what_was_ordered() -> None:
    given = unit(
        Issued(blood_group=BloodGroup.A_POS, product_code="E9992V00"),
        patient=replace(PATIENT, blood_group=BloodGroup.O_POS),
    )

    assert findings(given) == {"component_differs": True}
    assert start_of(given) == (
        "The start is refused: product E9992 is plasma and red cells was ordered."
    )


@pytest.mark.parametrize(
    ("requirement", "issued", "state", "detail", "source"),
    [
        ("cmv_negative", Issued(attributes=("cmv_negative",)), State.MET,
         "the label says so", "the label"),
        ("CMV negative", Issued(attributes=("cmv_positive",)), State.NOT_MET,
         "the label says otherwise", "the label"),
        ("irradiated", Issued(product_code="E9990"), State.MET,
         "the product description says so", "the site’s product table"),
        ("irradiated", Issued(product_code="E9991V00", attributes=("irradiated",)),
         State.NOT_MET, "the product description says otherwise", "the site’s product table"),
        ("washed", Issued(product_code="E9991"), State.UNVERIFIED,
         "cannot be verified from the label", ""),
        ("k_negative", Issued(), State.UNVERIFIED, "cannot be verified from the label", ""),
    ],
)  # fmt: skip
def test_a_requirement_against_what_the_label_shows(
    requirement: str, issued: Issued, state: State, detail: str, source: str
) -> None:
    given = unit(issued, requirements=(requirement,))

    (found,) = check(given).requirements

    assert (found.state, found.detail, found.source) == (state, detail, source)
    expected = {State.NOT_MET: {"requirement_not_met": True},
                State.UNVERIFIED: {"requirements_unverified": False}}  # fmt: skip
    assert findings(given) == expected.get(state, {})


def test_a_positive_product_description_contradicts_a_negative_requirement() -> None:
    coded = replace(SIGNED.products["E9990"], shows={Attribute.CMV_POSITIVE: True})
    given = unit(
        Issued(product_code="E9990"),
        requirements=("cmv_negative",),
        site=replace(SIGNED, products={"E9990": coded}),
    )

    assert findings(given) == {"requirement_not_met": True}
    assert start_of(given) == (
        "The start is refused: CMV negative was ordered and the product description says otherwise."
    )


def test_a_requirement_that_does_not_apply_and_a_free_text() -> None:
    given = unit(
        Issued(),
        requirements=("irradiated", "through a blood warmer"),
        component=Component.PLASMA,
    )

    first, second = check(given).requirements

    assert (first.requirement, first.state, first.detail) == (
        Requirement.IRRADIATED,
        State.NOT_NEEDED,
        "does not apply to plasma",
    )
    assert first.source.startswith("BSH")
    assert second == RequirementCheck(
        None, "through a blood warmer", State.UNVERIFIED, "cannot be verified from the label", ""
    )


def test_requirements_that_cannot_be_verified_are_one_advice() -> None:
    given = unit(Issued(), requirements=("irradiated", "warm it"))

    assert picture(given, at(5)).advices == (
        Advice(
            "requirements_unverified",
            "Cannot be verified from the label: irradiated, warm it. Ask the laboratory.",
            None,
        ),
    )


def test_an_advice_of_a_unit_names_its_source() -> None:
    given = unit(Issued(expires_at=at(-1)))

    assert picture(given, at(5)).advices == (
        Advice("unit_expired", "The unit expired at 09:59.", None, "the label"),
    )


def test_the_sample_counts_until_its_hours_are_over_and_then_warns() -> None:
    given = unit(Issued(), sample_taken_at=at(-72 * 60 + 5))
    limit = at(5)

    seen = [picture(given, now).check.findings for now in (limit, at(5, 1))]

    assert check(given).sample_valid_until == limit
    assert [[one.code for one in found] for found in seen] == [[], ["sample_expired"]]
    assert seen[1][0].detail == (
        "The sample was valid until 10:05: ask the laboratory whether it takes another."
    )
    assert seen[1][0].source.startswith("NZ Blood Service")
    assert start_of(given) is None


def test_a_sample_is_watched_before_the_unit_is_issued() -> None:
    given = replace(case(sample_taken_at=at(-80 * 60)), site=SIGNED)

    assert [one.code for one in picture(given, at(5)).advices] == ["sample_expired"]


def test_what_stops_is_listed_before_the_start_with_its_step() -> None:
    given = unit(Issued(blood_group=BloodGroup.A_NEG), (5, SOUND), (6, CHECKED), patient=O_NEG)

    (gap,) = gaps_before_start(facts_from(given), at(7))

    assert (gap.step, gap.detail) == (
        "group_sample",
        "Red cells, unit A−, patient O−: never: stop",
    )


def overridden() -> Picture:
    given = unit(
        Issued(blood_group=BloodGroup.A_NEG, expires_at=at(15)),
        (20, Started(60, override_reason="massive bleeding")),
        patient=O_NEG,
    )
    return picture(given, at(400))


def test_an_override_shows_for_ever_what_it_was_given_against() -> None:
    looked = overridden()

    assert looked.overridden == (
        "the bag was not inspected",
        "identity was not checked by two people at the bedside",
        "Red cells, unit A−, patient O−: never: stop",
        "the unit expired at 10:15",
    )
    assert [one.code for one in looked.advices][:3] == [
        "start_overridden",
        "group_never",
        "unit_expired",
    ]


def test_a_unit_is_judged_as_it_was_at_its_start() -> None:
    given = unit(
        Issued(blood_group=BloodGroup.A_POS, expires_at=at(30)),
        (20, Started(60)),
        patient=A_POS,
    )

    assert picture(given, at(90)).check.findings == ()
    assert picture(given, at(90)).overridden == ()


def test_nothing_is_overridden_before_a_start() -> None:
    assert overridden_at_start(facts_from(unit(Issued()))) == ()


def test_history_is_not_judged() -> None:
    given = unit(Issued(blood_group=BloodGroup.A_NEG), patient=O_NEG, history=True)

    assert picture(given, at(5)).advices == ()


def test_dates_are_those_of_the_ward() -> None:
    given = replace(unit(Issued(expires_at=at(-1)), site=SIGNED), zone=ZoneInfo("Pacific/Auckland"))

    assert check(given).findings[0].detail == "The unit expired at 22:59."
