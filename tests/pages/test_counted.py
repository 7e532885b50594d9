"""Lengths of time that the page goes on counting, in the words of the domain."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.wording import ago, until
from server.pages.counted import Part, count_text, counted_parts
from tests.domain.builders import BASE, at

NOW = at(20, seconds=30)


@pytest.mark.parametrize(
    ("kind", "instant", "limit", "text"),
    [
        ("due", at(27), at(32), "in 7 min"),
        ("due", at(20, seconds=59), at(32), "now"),
        ("due", at(20), at(32), "now"),
        ("due", at(18, seconds=59), at(32), "2 min ago"),
        ("due", at(8), at(13), "12 min late"),
        ("due", at(8), None, "12 min ago"),
        ("limit", at(198), at(198), "limit in 2 h 58"),
        ("limit", at(20, seconds=10), at(20, seconds=10), "limit now"),
        ("limit", at(10), at(10), "10 min late"),
        ("until", at(85), None, "in 1 h 05"),
        ("ago", at(12), None, "8 min ago"),
        ("ago", at(20), None, "just now"),
    ],
)
def test_count_to_an_instant(
    kind: str, instant: datetime, limit: datetime | None, text: str
) -> None:
    assert count_text(kind, instant, limit, NOW) == text


def test_sentence_is_split_at_what_is_counted() -> None:
    sentence = "First check was due 10:08, limit 10:13 passed 7 min ago."

    assert list(counted_parts(sentence, NOW)) == [
        Part("First check was due 10:08, limit 10:13 passed "),
        Part("7 min ago", "ago", "2026-03-03T10:13:30Z"),
        Part("."),
    ]


def test_sentence_without_a_count_stays_whole() -> None:
    sentence = "At 60 mL/h it ends 17:49, 31 min after its limit 17:18."

    assert list(counted_parts(sentence, NOW)) == [Part(sentence)]


def test_just_now_is_counted_from_the_present_minute() -> None:
    assert list(counted_parts("just now", NOW)) == [Part("just now", "ago", "2026-03-03T10:20:30Z")]


@given(
    minutes=st.integers(-2879, 2879),
    second=st.integers(0, 59),
    later=st.integers(0, 600),
)
def test_counted_part_says_later_what_the_domain_would_say(
    minutes: int, second: int, later: int
) -> None:
    now = BASE + timedelta(seconds=second)
    instant = BASE + timedelta(minutes=minutes, seconds=17)
    say = until if minutes > 0 else ago

    (part,) = counted_parts(say(instant, now), now)

    anchor = datetime.fromisoformat(part.at_iso)
    after = now + timedelta(minutes=later)
    if not (part.kind == "until" and anchor < after):
        assert say(anchor, after) == say(instant, after)
