"""A clock ran ahead and was put back: what is owed is raised at its own time, once, after all."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from server.domain.clock import SECOND
from server.services.deliver import hand_back, note_answer
from server.store.reminders import RaisedReminder, reminders_changed_since
from server.store.store import Store
from server.store.vitals import delays_since
from server.store.wards import read_ward
from server.store.webhooks import lease_webhooks
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import FAILED, TAKEN, answered, enter, stored, take
from tests.services.random_files import fresh_stores

AHEAD = (timedelta(minutes=5), timedelta(days=1))


def chart(charting: Charting) -> None:
    """Two units, issued at the base: both owe their start at 30 min."""
    for number in (1, 2):
        charting.open(f"e{number}", f"p{number}")
        charting.issue(f"e{number}")
    charting.tick(19)


def told_each_second(store: Store, start: float, end: float) -> dict[datetime, list[str]]:
    """Tick each second; what open pages were told of, by the instant."""
    told: dict[datetime, list[str]] = {}
    now, seen = at(start), 0
    while now <= at(end):
        Charting(store).tick(now)
        with store.read() as session:
            ward = read_ward(session, "w1")
            assert ward is not None
            fresh = reminders_changed_since(session, "w1", seen)
        seen = ward.revision
        if fresh and now > at(start):
            told[now] = sorted(name_of(one) for one in fresh)
        now += SECOND
    return told


def name_of(one: RaisedReminder) -> str:
    return f"{one.episode_id} {one.clock} {one.stage} {one.repeat} of {one.owed_at:%H:%M:%S}"


def stamps(store: Store, until: datetime) -> list[tuple[str, datetime, str]]:
    """What was owed by an instant, when it was raised, and for whom."""
    raised = Charting(store).reminders()
    return sorted((name_of(one), one.raised_at, one.to) for one in raised if one.owed_at <= until)


@ON_BOTH_ENGINES
@pytest.mark.parametrize("ahead", AHEAD, ids=["five minutes", "a day"])
def test_what_it_had_raised_too_early_is_raised_when_it_is_owed(
    ward: Charting, charted: Path, tmp_path: Path, ahead: timedelta
) -> None:
    ward.tick(at(26) + ahead)
    early = [one for one in ward.reminders() if one.owed_at > at(26)]

    told = told_each_second(ward.store, 26, 36)
    with fresh_stores(charted, tmp_path / "right.db") as (right,):
        by_a_right_clock = told_each_second(right, 26, 36)
        expected = stamps(right, at(36))

    assert early
    assert told == by_a_right_clock
    assert stamps(ward.store, at(36)) == expected
    assert ward.rebuild(36).differed == ()
    with ward.store.read() as session:
        assert all(late >= 0 for late in delays_since(session, at(0)))


def sent_each_minute(store: Store, start: int, end: int) -> list[tuple[int, str]]:
    """Tick and send each minute; what was sent in which."""
    sent = []
    for minute in range(start, end + 1):
        Charting(store).tick(minute)
        for post in take(store, minute):
            for letter in post.letters:
                note_answer(store, post, letter, TAKEN, now=at(minute))
                told = letter.told
                assert told is not None
                sent.append((minute, f"{told.episode_id} {told.clock} {told.stage} {told.repeat}"))
            hand_back(store, post)
    return sorted(sent)


@ON_BOTH_ENGINES
def test_receivers_are_told_again_and_of_nothing_before_its_time(
    ward: Charting, charted: Path, tmp_path: Path
) -> None:
    """Of what was told too early some had been taken, some was to be tried again much later."""
    enter(ward.store, when=19)
    before = sent_each_minute(ward.store, 20, 26)
    ahead = at(26) + timedelta(days=1)
    ward.tick(ahead)
    tried = answered(ward.store, ahead, TAKEN, FAILED, TAKEN)

    sent = sent_each_minute(ward.store, 26, 36)
    with fresh_stores(charted, tmp_path / "right.db") as (right,):
        enter(right, when=19)
        expected = sent_each_minute(right, 20, 36)

    assert len(tried) == 3
    assert [*before, *sent] == expected
    assert len(sent) > len(before) > 0


@ON_BOTH_ENGINES
def test_a_webhook_that_was_leased_or_told_to_rest_ahead_is_free(ward: Charting) -> None:
    enter(ward.store, when=20)
    ward.tick(at(20) + timedelta(hours=1))
    ahead = at(20) + timedelta(hours=1)
    with ward.store.write() as session:
        lease_webhooks(session, ["pager"], "who died", ahead, ahead + 10 * SECOND)

    ward.tick(20)

    assert [post.webhook.id for post in take(ward.store, at(20) + SECOND)] == ["pager"]
    assert stored(ward.store).not_before is None
