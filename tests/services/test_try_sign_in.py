"""Failed tries wait longer each time; a device on which somebody was before is counted apart."""

from datetime import datetime, timedelta

import pytest

from server.domain.tries import ELSEWHERE, ON_ONE_DEVICE
from server.services.try_sign_in import Claim, WaitFirst, begin_try, end_try, note_failure
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.shared_device import KEY, noted

SECOND = timedelta(seconds=1)
DESK = Claim("nurse-1", "nina", "desk")
NOWHERE = Claim("nurse-1", "nina")


def _waits(charting: Charting, claim: Claim, now: datetime) -> datetime | None:
    """Try once; until when it has to wait, None if it was looked at."""
    try:
        with charting.store.write() as session:
            begin_try(session, KEY, claim, now=now)
    except WaitFirst as wait:
        return wait.until
    return None


def _succeed(charting: Charting, claim: Claim) -> None:
    with charting.store.write() as session:
        end_try(session, KEY, claim, now=at(0))


@ON_BOTH_ENGINES
def test_a_device_waits_and_each_wait_is_kept(charting: Charting) -> None:
    free = [_waits(charting, DESK, at(0)) for _ in range(ON_ONE_DEVICE.free)]
    until = at(0) + ON_ONE_DEVICE.first
    waiting = [_waits(charting, DESK, now) for now in (at(0), until - SECOND, until, until)]

    assert free == [None] * ON_ONE_DEVICE.free
    assert waiting == [until, until, None, until + 2 * ON_ONE_DEVICE.first]


def test_other_people_at_the_device_do_not_wait(charting: Charting) -> None:
    for _ in range(ON_ONE_DEVICE.free):
        _waits(charting, DESK, at(0))

    assert _waits(charting, Claim("nurse-2", "cleo", "desk"), at(0)) is None


def test_a_known_device_stays_open_while_others_guess(charting: Charting) -> None:
    """Nobody who guesses elsewhere keeps anybody from signing in where they were before."""
    _succeed(charting, DESK)
    guesses = [
        _waits(charting, Claim("nurse-1", "nina", f"device {n}"), at(0))
        for n in range(ELSEWHERE.free + 1)
    ]
    unknown = [_waits(charting, claim, at(0)) for claim in (NOWHERE, Claim("nurse-1", "", "new"))]

    assert guesses == [None] * ELSEWHERE.free + [at(0) + ELSEWHERE.first]
    assert unknown == [at(0) + ELSEWHERE.first] * 2
    assert _waits(charting, DESK, at(0)) is None


def test_who_signs_in_begins_anew(charting: Charting) -> None:
    for _ in range(ON_ONE_DEVICE.free - 1):
        _waits(charting, DESK, at(0))
    _succeed(charting, DESK)
    again = [_waits(charting, DESK, at(0)) for _ in range(ON_ONE_DEVICE.free + 1)]
    _succeed(charting, NOWHERE)

    assert again == [None] * ON_ONE_DEVICE.free + [at(0) + ON_ONE_DEVICE.first]
    assert len(charting.everything()["known_device"]) == 1


def test_who_does_not_exist_waits_like_who_does(charting: Charting) -> None:
    names = (Claim(None, "zebedee", "desk"), DESK)
    waits = [
        [_waits(charting, claim, at(0)) for _ in range(ON_ONE_DEVICE.free + 2)] for claim in names
    ]
    other = _waits(charting, Claim(None, "somebody else", "desk"), at(0))

    assert (waits[0], other) == (waits[1], None)
    assert "zebedee" not in repr(charting.everything())


def test_a_failure_is_noted_with_the_account_and_never_with_what_was_typed(
    charting: Charting,
) -> None:
    with charting.store.write() as session:
        for claim in (DESK, Claim(None, "a secret typed as a name")):
            note_failure(session, claim, now=at(0))

    failed = "sign_in_failed"
    assert noted(charting, failed) == [("nobody", failed, "nurse-1"), ("nobody", failed, None)]
    assert "typed as a name" not in repr(charting.everything())


def test_a_wait_says_until_when() -> None:
    with pytest.raises(WaitFirst, match="wait until 12:00:00"):
        raise WaitFirst(at(0).replace(hour=12, minute=0, second=0))
