"""Acts that a limit could have been kept by, for each clock.

No attempt knows whether it helps: that is for the engine to say.
"""

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Final

from server.domain.payloads import (
    FateRecorded,
    Returned,
    SetChanged,
    SetHung,
    Started,
    Stopped,
)
from server.domain.why.attempt import MINUTE, Act, Asked, Attempt
from server.domain.why.attempts import (
    act_by,
    by_set,
    earlier_act,
    earlier_end,
    earlier_return,
    earlier_start,
    later_issue,
    later_set,
    whole_sets,
)
from server.domain.why.moving import place_of
from server.domain.words import ClockName, ClockState, Fate, Kind, Phase


def attempts(asked: Asked) -> Iterator[Attempt]:
    """Answer what may be tried for a clock, the act that met it first."""
    return _ATTEMPTS[asked.clock.name](asked)


def _start(asked: Asked) -> Iterator[Attempt]:
    if asked.is_late:
        yield from earlier_start(asked)
        yield from later_issue(asked)
        return
    yield from earlier_return(asked)
    if asked.state is ClockState.OVERDUE:
        yield act_by(asked, Act.START, Kind.STARTED, Started(0), Phase.RUNNING)
        yield act_by(asked, Act.RETURN, Kind.RETURNED, Returned(), Phase.RETURNED)


def _return(asked: Asked) -> Iterator[Attempt]:
    """Sending back alone: a start takes the question away at any time, and so says nothing."""
    if asked.is_late:
        yield from earlier_return(asked)
    else:
        yield act_by(asked, Act.RETURN, Kind.RETURNED, Returned(), Phase.RETURNED)


def _finish(asked: Asked) -> Iterator[Attempt]:
    """A unit that was never started could have gone back."""
    if asked.is_late:
        yield from earlier_start(asked)
        yield from earlier_end(asked)
        yield from later_issue(asked)
    elif asked.run.facts.episode.started_at is None:
        yield act_by(asked, Act.RETURN, Kind.RETURNED, Returned(), Phase.RETURNED)
    else:
        yield act_by(asked, Act.END, Kind.STOPPED, Stopped("supposed"), Phase.ENDED)


def _baseline(asked: Asked) -> Iterator[Attempt]:
    """A set by the start, one that came after it, or one from too long before an earlier start."""
    opens = asked.clock.opens_at or asked.limit_at
    yield by_set(asked)
    yield from whole_sets(asked, opens)
    after = [one for one in asked.free_sets if one[1].happened_at > asked.limit_at]
    if after:
        yield earlier_act(asked, Act.SET, after[0][0], opens)
    before = [event for _, event in asked.full_sets if event.happened_at < opens]
    if before:
        most = (asked.limit_at - before[-1].happened_at) // MINUTE
        yield from earlier_start(asked, most)


def _check(asked: Asked) -> Iterator[Attempt]:
    opens = asked.clock.opens_at or asked.limit_at
    if asked.is_late:
        late = [one for one in asked.full_sets if one[1].happened_at == asked.clock.met_at]
        yield earlier_act(asked, Act.SET, late[0][0], opens)
    else:
        yield by_set(asked)
    yield from whole_sets(asked, opens)
    early = [one for one in asked.free_sets if _may_wait(asked, one[1].happened_at, opens)]
    if early:
        yield later_set(asked, *early[-1])


def _may_wait(asked: Asked, at: datetime, opens: datetime) -> bool:
    """Whether a set could have been this check's, had it been taken a little later.

    Checks that roll on begin with the set before: there is none between it and their opening.
    """
    started = asked.run.facts.episode.started_at or opens
    return asked.clock.n == 1 and started <= at < opens


def _set_change(asked: Asked) -> Iterator[Attempt]:
    """A new set; one that is owed before the start of platelets is hung, not changed."""
    opens = asked.clock.opens_at or asked.limit_at
    before_start = asked.clock.rule == "giving_set.new_before_platelets"
    if asked.is_late:
        place = next(
            place
            for place, event in enumerate(asked.events)
            if event.kind in (Kind.SET_HUNG, Kind.SET_CHANGED)
            and event.happened_at == asked.clock.met_at
        )
        yield earlier_act(asked, Act.SET_CHANGE, place, opens)
    elif before_start:
        yield act_by(asked, Act.SET_CHANGE, Kind.SET_HUNG, SetHung())
    else:
        yield act_by(asked, Act.SET_CHANGE, Kind.SET_CHANGED, SetChanged())
        yield from earlier_end(asked)
        yield from earlier_return(asked)


def _fate(asked: Asked) -> Iterator[Attempt]:
    place = place_of(asked.events, [Kind.FATE])
    if asked.is_late and place is not None:
        opens = asked.clock.opens_at or asked.limit_at
        yield earlier_act(asked, Act.FATE, place, opens, Phase.CLOSED)
    else:
        yield act_by(asked, Act.FATE, Kind.FATE, FateRecorded(Fate.DISCARDED), Phase.CLOSED)


_ATTEMPTS: Final[dict[ClockName, Callable[[Asked], Iterator[Attempt]]]] = {
    ClockName.START: _start,
    ClockName.RETURN: _return,
    ClockName.FINISH: _finish,
    ClockName.BASELINE_CHECK: _baseline,
    ClockName.FIRST_CHECK: _check,
    ClockName.RUNNING_CHECK: _check,
    ClockName.REACTION_CHECK: _check,
    ClockName.END_CHECK: _check,
    ClockName.SET_CHANGE: _set_change,
    ClockName.FATE: _fate,
}
