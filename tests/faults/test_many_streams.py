"""Two thousand streams on one process, and clients that read nothing of theirs.

The figures that were measured are printed.
"""

import asyncio
from pathlib import Path
from statistics import median
from time import monotonic
from typing import Final

import pytest

from server.clock import utc_now
from server.live.channel import STALLED_SECONDS
from tests.faults.asking import (
    Following,
    following,
    post_note,
    say,
    signed_in,
    until_normal,
    wait_for,
)
from tests.faults.crowd import allow_files, gather_crowd, held_by, megabytes_of, open_unread
from tests.faults.programs import Commanded, Running, ending
from tests.faults.small_ward import SmallWard, make_small_ward

STREAMS: Final = 2_000
STALLED: Final = 20
FACTS: Final = 20
UNITS: Final = 12
TOLD_WITHIN_SECONDS: Final = 60.0
MOST_MEGABYTES: Final = 200
SPARE_FILES: Final = 500
DROPPED_WITHIN_SECONDS: Final = STALLED_SECONDS + 90
CHANGED: Final = "e1"


@pytest.mark.timeout(600)
def test_two_thousand_are_told_within_seconds_and_who_reads_nothing_is_dropped(
    tmp_path: Path,
) -> None:
    allow_files(STREAMS + SPARE_FILES)
    ward = make_small_ward(tmp_path / "ward.db", utc_now(), units=UNITS)
    secret = signed_in(ward)
    with ending(Commanded(ward.database, tmp_path / "log")) as served:
        served.wait_until_ready()
        until_normal(served, ward)
        unread = [open_unread(served, secret) for _ in range(STALLED)]
        wait_for(lambda: held_by(served, unread) == STALLED)
        beside = _fill(served, ward)
        stalled_at = monotonic()
        asyncio.run(_tell_all(served, ward))
        wait_for(lambda: held_by(served, unread) == 0, DROPPED_WITHIN_SECONDS)
        dropped = monotonic() - stalled_at
        for one in unread:
            one.close()

    say(
        f"beside {STALLED} streams that nobody reads a change was told after {max(beside):.2f} s "
        f"at most; they were dropped within {dropped:.0f} s"
    )
    assert max(beside) < TOLD_WITHIN_SECONDS


def _fill(served: Running, ward: SmallWard) -> list[float]:
    """Record facts until more was told than a connection holds that nobody reads; the seconds."""
    with following(served, ward) as stream:
        return [_from_posted_to_told(served, ward, stream, number) for number in range(FACTS)]


def _from_posted_to_told(served: Running, ward: SmallWard, stream: Following, number: int) -> float:
    begun, episode_id = monotonic(), f"e{number % UNITS}"
    posted = post_note(served, ward, f"fill-{number}", number % UNITS)
    assert posted.status == 201, posted.text
    told, _ = wait_for(lambda: stream.told_of(episode_id, begun))
    return told - begun


async def _tell_all(served: Running, ward: SmallWard) -> None:
    """Have every stream of a crowd told of one change, and print what that took."""
    before = megabytes_of(served)
    crowd = await gather_crowd(served, ward.token, STREAMS)
    grown = megabytes_of(served) - before
    begun = monotonic()
    told = asyncio.ensure_future(crowd.until_told(CHANGED))
    posted = await asyncio.to_thread(post_note, served, ward, "to-all", int(CHANGED[1:]))
    moments = await asyncio.wait_for(told, TOLD_WITHIN_SECONDS)
    crowd.leave()

    seconds = [moment - begun for moment in moments]
    say(
        f"{STREAMS} streams opened in {crowd.seconds:.1f} s, {grown:.0f} MB more; a fact was "
        f"answered in {posted.seconds:.2f} s, all were told after {max(seconds):.2f} s, half of "
        f"them after {median(seconds):.2f}"
    )
    assert posted.status == 201
    assert grown < MOST_MEGABYTES
