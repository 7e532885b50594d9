"""The head of a page: the ward's time, and when the last check was."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from server.pages.page_head import (
    PageHead,
    checked_text,
    iso,
    late_text,
    live_head,
    page_head,
    zone_text,
)

AUCKLAND = ZoneInfo("Pacific/Auckland")
NOW = datetime(2026, 3, 3, 10, 0, tzinfo=UTC)
TEN = timedelta(seconds=10)


def test_head_has_the_wards_time_and_zone() -> None:
    assert page_head(NOW, AUCKLAND, ward_name="Larch ward", night=True) == PageHead(
        now_iso="2026-03-03T10:00:00Z",
        now_text="23:00",
        day_text="3 March 2026",
        zone="Pacific/Auckland",
        zone_text="NZDT",
        ward_name="Larch ward",
        night=True,
    )


def test_zone_without_letters_is_shown_by_its_offset() -> None:
    assert zone_text(NOW, ZoneInfo("America/Sao_Paulo")) == "-03"


def test_instant_of_another_zone_is_carried_in_utc() -> None:
    assert iso(NOW.astimezone(AUCKLAND)) == "2026-03-03T10:00:00Z"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (-1, "checked 0 s ago"),
        (0, "checked 0 s ago"),
        (119, "checked 119 s ago"),
        (120, "checked 2 min ago"),
        (1330, "checked 22 min ago"),
    ],
)
def test_last_check_in_words(seconds: int, text: str) -> None:
    assert checked_text(NOW - timedelta(seconds=seconds), NOW) == text


def test_banner_is_silent_up_to_the_limit() -> None:
    second = timedelta(seconds=1)

    assert late_text(NOW - TEN, NOW, AUCKLAND, TEN) == ""
    assert late_text(NOW - TEN - second, NOW, AUCKLAND, TEN) == (
        "Reminders are late: last check 22:59."
    )


def test_live_head_says_that_no_check_was_made_yet() -> None:
    head = live_head(page_head(NOW, AUCKLAND), checked_at=None, now=NOW, stale_after=TEN)

    assert (head.live, head.checked_iso, head.checked_text) == (True, "", "not checked yet")
    assert head.late_text == "Reminders are not running: no check has been made yet."


def test_live_head_carries_the_last_check() -> None:
    checked = NOW - timedelta(seconds=4)

    head = live_head(page_head(NOW, AUCKLAND), checked_at=checked, now=NOW, stale_after=TEN)

    assert (head.checked_iso, head.checked_text) == ("2026-03-03T09:59:56Z", "checked 4 s ago")
    assert (head.late_text, head.stale_after_seconds) == ("", 10)
