"""The words for what would have kept a limit. They say what was, and never what to do."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from server.domain.breaches import Breach
from server.domain.why.attempt import Act, Asked, Way
from server.domain.why.earlier import Avoided, Rate
from server.domain.wording import clock_text, span
from server.domain.words import Kind

ACT: Final[dict[Act, str]] = {
    Act.ISSUE: "Issue",
    Act.START: "Start",
    Act.RETURN: "Sending back",
    Act.SET: "Full set of observations",
    Act.RATE: "Rate after the slow start",
    Act.END: "End",
    Act.SET_CHANGE: "Giving set change",
    Act.FATE: "Fate of the bag",
}

_ALONG: Final[dict[Kind, str]] = {
    Kind.RECEIVED: "receipt",
    Kind.INSPECTED: "inspection",
    Kind.IDENTITY_CHECKED: "identity check",
    Kind.OBSERVED: "baseline set",
    Kind.SPIKED: "spiking",
    Kind.SET_HUNG: "hanging the set",
    Kind.SET_CHANGED: "changing the set",
    Kind.CONFIRMED: "confirmed steps",
}


def would_have(asked: Asked, avoided: Avoided) -> str:
    """Answer how the act would have had to be: `12 min earlier, at 14:30 instead of 14:42`."""
    if avoided.way is Way.BY:
        return f"at {exact_time(asked, avoided.at)} at the latest; it is not recorded"
    at = asked.time(avoided.at)
    if avoided.way is Way.ANY:
        return f"at any time until {at}; it is not recorded"
    if avoided.way is Way.WHOLE:
        return f"the set of {at} with every sign"
    was = asked.time(avoided.was_at or avoided.at)
    if avoided.rate is not None:
        return f"{_rate(asked, avoided.rate)} it would have ended at {at}, not at {was}"
    by = span(avoided.minutes or 0)
    turn = "earlier" if avoided.way is Way.EARLIER else "later"
    return f"{by} {turn}, at {at} instead of {was}"


def beside_words(asked: Asked, avoided: Avoided) -> Iterator[str]:
    """Answer what else would have been so, each in a sentence."""
    if avoided.act is Act.SET and avoided.was_at is None and avoided.at > asked.limit_at:
        yield "No set met the first check: a set after this limit, too, would have moved it."
    yield from _moved_along(avoided)
    if avoided.left_ml is not None and avoided.left_ml >= 1:
        yield f"{avoided.left_ml:.0f} mL would then not have been given."
    if avoided.rate is not None:
        yield f"The permitted rate was {avoided.rate.permitted_ml_h:g} mL/h."
    yield from _other_limits(avoided)
    yield from avoided.in_the_way


def _moved_along(avoided: Avoided) -> Iterator[str]:
    if avoided.along:
        names = dict.fromkeys(_ALONG[one.kind] for one in avoided.along)
        yield f"Moved with it, up to the start: {', '.join(names)}."
    if avoided.act is Act.START and avoided.way is Way.EARLIER:
        yield "Everything after the start would have come earlier by as much."


def _other_limits(avoided: Avoided) -> Iterator[str]:
    if avoided.also_kept:
        kept = ", ".join(clock_text(*key) for key in avoided.also_kept)
        yield f"It would have kept as well: {kept}."
    for breach in avoided.then_passed:
        yield f"{clock_text(breach.clock, breach.n)} would then have been {_came_out(breach)}."
    for gap in avoided.refused:
        yield f"The start would then have been refused: {gap}."


def exact_time(asked: Asked, at: datetime) -> str:
    """The ward's wall time, with its second where that is not a whole minute."""
    seconds = f":{at.second:02d}" if at.second else ""
    return f"{asked.time(at)}{seconds}"


def _rate(asked: Asked, rate: Rate) -> str:
    return f"with {rate.rate_ml_h:g} mL/h from {asked.time(rate.from_at)} on"


def _came_out(breach: Breach) -> str:
    if breach.met_at is None or breach.late_minutes is None:
        return "missed"
    return f"{span(max(1, round(breach.late_minutes)))} late"
