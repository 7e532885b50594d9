"""A check character catches every single wrong character and every swap of neighbours."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.labels.check_character import ALPHABET, check_character, check_value

CHARACTERS = ALPHABET[:-1]
NUMBERS = st.from_regex(r"[A-NP-Z1-9][A-NP-Z0-9]{2}[0-9]{10}", fullmatch=True)


@settings(max_examples=50, deadline=None)
@given(NUMBERS)
def test_no_single_substitution_passes(number: str) -> None:
    right = check_character(number)

    passed = [
        (place, other)
        for place in range(len(number))
        for other in CHARACTERS
        if other != number[place]
        and check_character(number[:place] + other + number[place + 1 :]) == right
    ]

    assert passed == []


@settings(max_examples=50, deadline=None)
@given(NUMBERS)
def test_no_swap_of_neighbours_passes(number: str) -> None:
    right = check_character(number)

    passed = [
        place
        for place in range(len(number) - 1)
        if number[place] != number[place + 1]
        and check_character(
            number[:place] + number[place + 1] + number[place] + number[place + 2 :]
        )
        == right
    ]

    assert passed == []


@settings(max_examples=50, deadline=None)
@given(NUMBERS)
def test_only_one_character_fits(number: str) -> None:
    """The definition itself: the weighted sum with the check character is 1 modulo 37."""
    weighted = sum(
        ALPHABET.index(character) * pow(2, len(number) - place, 37)
        for place, character in enumerate(number)
    )

    assert (weighted + check_value(number)) % 37 == 1


@pytest.mark.parametrize(("number", "check"), [("A999921123456", "3"), ("1000026000000", "1")])
def test_a_check_character(number: str, check: str) -> None:
    assert check_character(number) == check
