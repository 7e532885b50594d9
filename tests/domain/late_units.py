"""Generated units that were late at something."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from hypothesis import strategies as st

from server.domain.facts import HungSet
from server.domain.payloads import (
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Paused,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Received,
    Resumed,
    Returned,
    SetChanged,
    SetHung,
    Spiked,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.picture import Case
from server.domain.words import Component, Fate
from tests.domain.builders import CHECKED, COMMON, FULL, PARTIAL, SOUND, at, case

MINUTE: Final = timedelta(minutes=1)

Draw = st.DrawFn

# The whole pathway with a shorter life of the set, so that it is outlived within a unit.
POLICY: Final = replace(
    COMMON,
    version="late",
    giving_set_life=timedelta(hours=3),
    finish_from=("removed", "issued"),
)
FROM_THE_START: Final = replace(POLICY, version="start", finish_from=("spiked", "started"))


def _seconds(draw: Draw, low: int, high: int) -> timedelta:
    """Minutes with seconds that like to be whole minutes."""
    minutes = draw(st.integers(low, high))
    return timedelta(minutes=minutes, seconds=draw(st.sampled_from([0, 0, 1, 29, 59])))


class Late:
    """A generated unit, told in short: the whole case with its policy fills pages."""

    def __init__(self, unit: Case) -> None:
        """A case whose facts its words are made of."""
        self.unit = unit

    def __repr__(self) -> str:
        """Its policy, component and facts by their times."""
        facts = (f"{one.happened_at:%d %H:%M:%S} {one.payload!r}" for one in self.unit.events)
        request = self.unit.request
        return "\n".join((self.unit.policy.version, request.component, *facts))


@st.composite
def late_units(draw: Draw) -> Late:
    """Units that were late at something, or at nothing."""
    return Late(draw(_units()))


@st.composite
def _units(draw: Draw) -> Case:
    """A unit on its whole way, with each step now in time and now late."""
    told: list[tuple[datetime, Payload]] = []
    issued = at(0)
    removed = draw(st.sampled_from([None, at(-15)]))
    expires = draw(st.sampled_from([None, None, at(200)]))
    told.append((issued, Issued(removed_at=removed, expires_at=expires)))
    came = issued + _seconds(draw, 1, 25)
    told += [(came, Received()), (came + MINUTE, SOUND), (came + 2 * MINUTE, CHECKED)]
    if draw(st.integers(0, 7)) == 0:
        back = came + _seconds(draw, 3, 90)
        away: list[Payload] = [Returned(), Discarded("torn")]
        told.append((back, draw(st.sampled_from(away))))
        if draw(st.booleans()):
            told.append((back + _seconds(draw, 0, 500), FateRecorded(Fate.DISCARDED)))
        return _case(draw, told)
    start = came + _seconds(draw, 3, 60)
    for before in draw(st.lists(st.integers(-12, 70), max_size=2)):
        told.append((start - before * MINUTE, draw(st.sampled_from([FULL, FULL, PARTIAL]))))
    hung = draw(st.sampled_from([SetHung(), Spiked(), None]))
    if hung is not None:
        told.append((start - draw(st.integers(0, 2)) * MINUTE, hung))
    told.append((start, Started(draw(st.sampled_from([50, 60, 120])))))
    if draw(st.integers(0, 9)) > 0:
        _run(draw, told, start)
    return _case(draw, told)


def _run(draw: Draw, told: list[tuple[datetime, Payload]], start: datetime) -> None:
    end = start + _seconds(draw, 12, 400)
    flow: list[tuple[datetime, Payload]] = [
        (start + _seconds(draw, 16, 30), RateSet(draw(st.sampled_from([40, 75, 150])))),
        (start + _seconds(draw, 60, 90), Paused("lost access")),
        (start + _seconds(draw, 91, 130), Resumed(draw(st.sampled_from([None, 60, 100])))),
        (start + _seconds(draw, 140, 200), RateSet(draw(st.sampled_from([30, 90])))),
        (start + _seconds(draw, 201, 230), SetChanged()),
        (start + _seconds(draw, 231, 260), VolumeRead(draw(st.sampled_from([100, 180])))),
    ]
    told += [fact for fact in flow if fact[0] < end]
    if draw(st.booleans()):
        since = start + _seconds(draw, 20, 60)
        told.append((since, ReactionSuspected(("fever",))))
        if since + 100 * MINUTE < end:
            told.append((since + 100 * MINUTE, ReactionClosed("none")))
    sets = draw(st.lists(st.integers(1, 480), max_size=7, unique=True))
    told += [
        (start + minute * MINUTE, draw(st.sampled_from([FULL, FULL, PARTIAL]))) for minute in sets
    ]
    if draw(st.integers(0, 5)) == 0:
        return
    endings: list[Payload] = [Completed(), Completed(given_ml=250), Stopped("fever")]
    told.append((end, draw(st.sampled_from(endings))))
    if draw(st.booleans()):
        fate = draw(st.sampled_from([Fate.TRANSFUSED, Fate.PART_TRANSFUSED]))
        told.append((end + _seconds(draw, 10, 700), FateRecorded(fate)))


def _case(draw: Draw, told: Iterable[tuple[datetime, Payload]]) -> Case:
    return case(
        *sorted(told, key=lambda fact: fact[0]),
        policy=draw(st.sampled_from([POLICY, POLICY, FROM_THE_START])),
        component=draw(st.sampled_from([Component.RED_CELLS, Component.PLATELETS])),
        volume_ml=draw(st.sampled_from([280.0, 280.0, None])),
        max_rate_ml_h=draw(st.sampled_from([None, 100.0])),
        line=draw(st.sampled_from([(), (HungSet(at(-10), Component.RED_CELLS),)])),
    )
