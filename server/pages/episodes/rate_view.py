"""The range that a rate may lie in: what is needed and what is permitted, never an instruction."""

from dataclasses import dataclass
from math import ceil, floor

from server.domain.giving_sets import drops_per_ml_of
from server.domain.infusion import drops_per_min
from server.domain.picture import Picture
from server.domain.policy import source_of
from server.domain.wording import wall_time


@dataclass(frozen=True, slots=True)
class RateRange:
    """`range` in mL/h and `drops` in drops/min as texts; `why` says what the ends are."""

    range: str
    drops: str
    why: str
    source: str


def rate_range(picture: Picture) -> RateRange:
    """Answer the range from the needed to the permitted rate, as far as it is known."""
    infusion, policy = picture.infusion, picture.case.policy
    needed, permitted = infusion.needed_rate_ml_h, infusion.permitted_rate_ml_h
    per_ml = drops_per_ml_of(picture.episode, picture.case.line, policy)
    high = drops_per_min(permitted, per_ml)
    low = None if needed is None else drops_per_min(needed, per_ml)
    return RateRange(
        range=_range(None if needed is None else ceil(needed), floor(permitted), "mL/h"),
        drops=_range(low, high, f"drops/min at {per_ml} drops/mL"),
        why=f"{_slow(picture, per_ml)}{_why(picture)}",
        source=_source(picture),
    )


def rate_to_start(picture: Picture) -> str:
    """Answer the rate that stands in the form of the start: the policy's for the slow start.

    Never above what is permitted for this patient and order. It can be typed over.
    """
    permitted = picture.infusion.permitted_rate_ml_h
    return f"{min(picture.case.policy.rate_first_max_ml_h, permitted):g}"


def _range(low: int | None, high: int, unit: str) -> str:
    if low is None:
        return f"up to {high} {unit}"
    if low > high:
        return f"{low} {unit} needed, {high} permitted"
    return f"{low} to {high} {unit}"


def _slow(picture: Picture, per_ml: int) -> str:
    """While the slow start lasts, what the policy says of it comes before the range after it."""
    policy, start, now = picture.case.policy, picture.episode.started_at, picture.standing.now
    if start is None or now >= start + policy.rate_first:
        return ""
    most = policy.rate_first_max_ml_h
    until = wall_time(start + policy.rate_first, picture.case.zone)
    return f"Until {until} at most {most:g} mL/h, {drops_per_min(most, per_ml)} drops/min. "


def _why(picture: Picture) -> str:
    infusion = picture.infusion
    if infusion.cannot_finish:
        return "More is needed than is permitted: part of the unit has to be stopped."
    if infusion.needed_rate_ml_h is None:
        return "What is needed to finish in time is not known. Permitted by local policy."
    return "Needed to finish in time, and permitted by local policy. Not an instruction."


def _source(picture: Picture) -> str:
    rule = picture.standing.rate_rule
    if rule == "order":
        return "the order"
    return source_of(picture.case.policy, rule, picture.case.request.component)
