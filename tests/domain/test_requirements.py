"""Special requirements: recognised by name or in words, and a slip of the finger refused."""

import pytest

from server.domain.attributes import Attribute, require_attributes
from server.domain.errors import Invalid
from server.domain.payloads import Issued
from server.domain.requirements import (
    WORDS,
    Requirement,
    require_sound,
    requirement_of,
    words_of,
)


@pytest.mark.parametrize("requirement", Requirement)
def test_every_requirement_is_known_by_its_name_and_in_its_words(
    requirement: Requirement,
) -> None:
    words = WORDS[requirement]

    assert requirement_of(requirement.value) is requirement
    assert requirement_of(words) is requirement
    assert requirement_of(words.upper().replace(" ", "-")) is requirement
    assert words_of(requirement.value) == words
    require_sound([requirement.value])


def test_a_free_text_stays_as_it_was_written() -> None:
    text = "through a blood warmer"

    require_sound(["irradiated", "CMV negative", text])

    assert (requirement_of(text), words_of(text)) == (None, text)


@pytest.mark.parametrize(
    ("requirements", "message"),
    [
        (["iradiated"], "“iradiated” is unknown; expected irradiated"),
        (["CMV negativ"], "“CMV negativ” is unknown; expected cmv_negative"),
        (["irradiated", "Irradiated"], "“Irradiated” is named twice; expected each once"),
        (["CMV negative", "cmv_negative"], "“cmv_negative” is named twice; expected each once"),
        ([" "], "is empty; expected a text"),
        (["x" * 4_001], "is 4001 characters long; expected at most 4000"),
        (
            ["no_such_thing"],
            (
                "“no_such_thing” is unknown; expected one of irradiated, cmv_negative, "
                "hev_negative, washed, phenotype_matched, antigen_negative, k_negative, "
                "hbs_negative, hla_matched, high_titre_negative, or a text in words"
            ),
        ),
    ],
)
def test_a_wrong_requirement_is_refused(requirements: list[str], message: str) -> None:
    with pytest.raises(Invalid) as refused:
        require_sound(requirements)

    assert (refused.value.field, refused.value.message) == ("requirements", message)


def test_every_attribute_can_be_issued() -> None:
    names = tuple(one.value for one in Attribute)

    require_attributes(names)

    assert Issued(attributes=names).attributes == names


@pytest.mark.parametrize(
    ("names", "message"),
    [
        (("cmv_negativ",), "“cmv_negativ” is unknown; expected cmv_negative"),
        (("washed", "washed"), "washed is named twice; expected each once"),
    ],
)
def test_a_wrong_attribute_is_refused(names: tuple[str, ...], message: str) -> None:
    with pytest.raises(Invalid) as refused:
        Issued(attributes=names)

    assert (refused.value.field, refused.value.message) == ("attributes", message)


def test_an_attribute_like_none_is_told_all_of_them() -> None:
    with pytest.raises(Invalid) as refused:
        require_attributes(["zzz"])

    assert refused.value.message == f"“zzz” is unknown; expected {', '.join(Attribute)}"
