"""Every limit of every policy has a name on the page, and no name is left over."""

from server.domain.policy.keys import KEYS, SECTIONS, places
from server.domain.words import Recipient
from server.pages.policy_words import SECTION, WORDS, item_words, recipient_words, words_of


def test_each_key_and_each_section_has_words_of_its_own() -> None:
    assert set(WORDS) == {key.name for key in KEYS}
    assert tuple(SECTION) == SECTIONS


def test_a_limit_by_component_is_called_by_the_component_too() -> None:
    finish = next(key for key in KEYS if key.name == "finish.minutes")

    assert [words_of(place) for place in places(finish)] == [
        "Red cells, within",
        "Platelets, within",
        "Plasma, within",
        "Cryoprecipitate, within",
        "Granulocytes, within",
        "Whole blood, within",
    ]


def test_items_are_said_as_on_the_ward() -> None:
    assert [item_words(item) for item in ("tell_laboratory", "blood_pressure", "undetermined")] == [
        "Tell the transfusion laboratory",
        "blood pressure",
        "undetermined",
    ]


def test_each_recipient_is_said_as_on_the_ward() -> None:
    assert [recipient_words(one.value) for one in Recipient] == [
        "the nurse of the unit, or whoever covers",
        "the charge nurse on duty",
        "a manager of the ward",
        "the next contact of the ward",
    ]
