"""Which PINs are refused, and why. That 123456 is tried first: common practice, no source."""

import pytest

from server.domain.errors import Invalid
from server.domain.pins import require_pin

GUESSED = "choose digits that nobody guesses"


@pytest.mark.parametrize("pin", ["480251", "739016", "58204796", "904718263504", "320189"])
def test_a_pin_that_nobody_guesses_is_taken(pin: str) -> None:
    require_pin(pin)


@pytest.mark.parametrize("pin", ["", "48025", "4802517390164", "48o251", "480 251", "٤٨٠٢٥١"])
def test_a_pin_has_six_to_twelve_digits(pin: str) -> None:
    with pytest.raises(Invalid) as refused:
        require_pin(pin)

    assert (refused.value.field, refused.value.message) == ("pin", "expected 6 to 12 digits")


@pytest.mark.parametrize(
    ("pin", "why"),
    [
        ("111111", "has fewer than 3 different digits"),
        ("121121", "has fewer than 3 different digits"),
        ("123456", "counts in equal steps"),
        ("987654", "counts in equal steps"),
        ("890123", "counts in equal steps"),
        ("135791", "counts in equal steps"),
        ("739739", "repeats itself"),
        ("737373", "has fewer than 3 different digits"),
        ("48024802", "repeats itself"),
        ("774499", "repeats itself"),
        ("739937", "repeats itself"),
        ("7390937", "repeats itself"),
        ("140761", "can be read as a date, such as a birthday"),
        ("071461", "can be read as a date, such as a birthday"),
        ("610714", "can be read as a date, such as a birthday"),
        ("14071961", "can be read as a date, such as a birthday"),
        ("19610714", "can be read as a date, such as a birthday"),
        ("159753", "is one of those that are guessed first"),
    ],
)
def test_a_pin_that_is_guessed_first_is_refused(pin: str, why: str) -> None:
    with pytest.raises(Invalid) as refused:
        require_pin(pin)

    assert refused.value.message == f"{why}; {GUESSED}"
