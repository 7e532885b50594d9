"""One number for a badge, however it is read. The GSRN is the worked one of the label tests."""

import pytest

from server.domain.badge import NO_BADGE, badge_number
from server.domain.errors import Invalid


@pytest.mark.parametrize(
    ("scan", "number"),
    [
        ("8017735005385000000011", "8017 735005385000000011"),
        ("]C18017735005385000000011\r\n", "8017 735005385000000011"),
        ("(8017) 735005385000000011", "8017 735005385000000011"),
        ("='A9999ABC123", "020 A9999 ABC123"),
        (" LW-101 ", "LW-101"),
        ("00471", "00471"),
    ],
)
def test_a_badge_has_one_number(scan: str, number: str) -> None:
    assert badge_number(scan) == number


@pytest.mark.parametrize(
    ("scan", "why"),
    [
        ("4711", NO_BADGE),
        ("8018735005385000000011", NO_BADGE),
        ("=%5100", NO_BADGE),
        ("", "is empty; expected what a scanner reads from a label"),
        ("8017735005385000000012", "has a wrong check digit after 8017; scan it again"),
    ],
)
def test_what_is_no_badge_is_refused(scan: str, why: str) -> None:
    with pytest.raises(Invalid) as refused:
        badge_number(scan)

    assert (refused.value.field, refused.value.message) == ("badge", why)
