"""One-time codes beside the values that RFC 6238 publishes, and the address that apps read.

Source: RFC 6238, appendix B (the rows of SHA-1), whose secret is the ASCII text of twenty digits.
It prints eight digits; six digits of the same value are its last six, for the value is cut modulo
a power of ten (RFC 4226, section 5.3). The values are from memory.
"""

from base64 import b32encode
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from server.services.one_time_codes import (
    address_for_apps,
    in_groups,
    new_code_secret,
    new_recovery_code,
    plain_recovery_code,
    step_of,
)

SECRET = b32encode(b"12345678901234567890").decode()
STEP = timedelta(seconds=30)
PUBLISHED = (
    (59, "94287082"),
    (1_111_111_109, "07081804"),
    (1_111_111_111, "14050471"),
    (1_234_567_890, "89005924"),
    (2_000_000_000, "69279037"),
    (20_000_000_000, "65353130"),
)


@pytest.mark.parametrize(("seconds", "eight"), PUBLISHED)
def test_the_published_codes_fit_their_step_and_the_one_after(seconds: int, eight: str) -> None:
    code, step = eight[-6:], seconds // 30
    now = datetime.fromtimestamp(seconds, UTC)

    assert [step_of(SECRET, code, now + STEP * n) for n in (0, 1, 2)] == [step, step, None]


def test_a_code_of_the_next_step_is_taken_and_none_of_later_ones() -> None:
    seconds, eight = PUBLISHED[1]
    now = datetime.fromtimestamp(seconds, UTC)

    assert [step_of(SECRET, eight[-6:], now - STEP * n) for n in (1, 2)] == [seconds // 30, None]


@pytest.mark.parametrize(
    "code", ["", "28708", "2870820", "94287082", "-87082", "２８７０８２", "28708a"]
)
def test_what_is_no_code_fits_nothing(code: str) -> None:
    assert step_of(SECRET, code, datetime.fromtimestamp(59, UTC)) is None


def test_a_code_may_be_typed_in_groups() -> None:
    assert step_of(SECRET, " 287 082 ", datetime.fromtimestamp(59, UTC)) == 1


def test_no_code_fits_a_secret_that_stayed_sealed() -> None:
    assert step_of("sealed1.AAAA", "287082", datetime.fromtimestamp(59, UTC)) is None


def test_the_address_says_whose_it_is_and_what_is_not_usual() -> None:
    """The form `otpauth://totp/ISSUER:NAME?secret=…` is common practice, no standard."""
    address = urlsplit(address_for_apps(SECRET, "ann lee"))

    assert (address.scheme, address.netloc) == ("otpauth", "totp")
    assert address.path == "/Fourth%20Hour:ann%20lee"
    assert parse_qs(address.query) == {"secret": [SECRET], "issuer": ["Fourth Hour"]}


def test_secrets_are_as_long_as_is_asked_and_never_the_same() -> None:
    """160 bits: RFC 4226, section 4, R6. 112 bits or more: OWASP ASVS 5.0, 6.5.2."""
    secrets, codes = ({make() for _ in range(50)} for make in (new_code_secret, new_recovery_code))

    assert {len(one) * 5 for one in secrets} == {160}
    assert {len(one) * 5 for one in codes} == {120}
    assert (len(secrets), len(codes)) == (50, 50)


def test_a_recovery_code_is_read_however_it_is_typed() -> None:
    assert in_groups("ABCDEFGHJ") == "ABCD EFGH J"
    assert plain_recovery_code(" abcd-efgh j\n") == "ABCDEFGHJ"
