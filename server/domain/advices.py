"""Advices: what is worth saying beside the clocks. None of them meets or breaks a clock."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.expected_rise import expected_rise_g_l
from server.domain.reasons import held, warned
from server.domain.standing import Standing
from server.domain.unit_check import check_unit
from server.domain.wording import span, wall_time, whole_minutes
from server.domain.words import ClockName, ClockState, Component, Phase

_RED_CELLS: Final = Component.RED_CELLS
_GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})
_BEFORE_THE_END: Final = _GIVING | {Phase.REQUESTED, Phase.AVAILABLE, Phase.ISSUED}


@dataclass(frozen=True, slots=True)
class Advice:
    """One advice; `rule` is the policy key that names its source, None for a plain fact.

    `source` names a source that is no value of the policy: a label, the site's own files.
    """

    code: str
    detail: str
    rule: str | None
    source: str = ""


def advices_at(standing: Standing) -> tuple[Advice, ...]:
    """Answer the advices that hold at the instant, in a fixed order."""
    return tuple(advice for advise in _ADVISERS for advice in advise(standing))


def _no_issue_time(standing: Standing) -> Iterator[Advice]:
    episode = standing.episode
    if episode.started_at is not None and episode.issued_at is None:
        detail = "No issue time was recorded: no start, return or removal-based limit is owed."
        yield Advice("no_issue_time", detail, None)


def _override(standing: Standing) -> Iterator[Advice]:
    reason = standing.episode.override_reason
    if reason is not None:
        yield Advice("start_overridden", f"Started against a refusal: {reason}", None)


def _return_passed(standing: Standing) -> Iterator[Advice]:
    episode = standing.episode
    overdue = any(clock.name is ClockName.RETURN for clock in standing.in_state(ClockState.OVERDUE))
    if not overdue or episode.removed_at is None:
        return
    out = span(whole_minutes(episode.removed_at, standing.now))
    detail = f"Out of storage for {out}: may no longer go back to stock. Local policy decides"
    detail += " whether it may still be given"
    if standing.finish_limit_at is not None:
        by = wall_time(standing.finish_limit_at, standing.zone, standing.now)
        detail += f"; all of it would have to be in by {by}"
    yield Advice("return_window_passed", f"{detail}.", "return.minutes")


def _identity_failed(standing: Standing) -> Iterator[Advice]:
    """A check that found something stops the start; it is said where everybody looks."""
    episode, identity = standing.episode, standing.episode.identity
    if episode.phase is not Phase.ISSUED or identity is None or episode.identity_at is None:
        return
    at = _at(standing, episode.identity_at)
    if identity.mismatches:
        items = ", ".join(identity.mismatches).replace("_", " ")
        detail = f"The identity check of {at} did not agree ({items}): the unit is not started."
        detail += " Keep it away from the patient and follow the local procedure."
        yield Advice("identity_mismatch", detail, "start.requires")
    elif identity.interrupted:
        detail = f"The identity check of {at} was interrupted: it starts again from the top."
        yield Advice("identity_interrupted", detail, "start.requires")


def _at(standing: Standing, instant: datetime) -> str:
    return wall_time(instant, standing.zone, standing.now)


def _baseline_early(standing: Standing) -> Iterator[Advice]:
    start, target = standing.episode.started_at, standing.policy.baseline_target
    for clock in standing.in_state(ClockState.MET):
        if clock.name is not ClockName.BASELINE_CHECK or clock.met_at is None or start is None:
            continue
        if start - clock.met_at > target:
            early = span(whole_minutes(clock.met_at, start))
            detail = f"Baseline observations were taken {early} before the start."
            yield Advice("baseline_early", detail, "baseline.target_minutes")


def _slow_start(standing: Standing) -> Iterator[Advice]:
    start, rate = standing.episode.started_at, standing.infusion.rate_ml_h
    policy = standing.policy
    if start is None or rate is None or standing.now >= start + policy.rate_first:
        return
    if rate > policy.rate_first_max_ml_h:
        until = wall_time(start + policy.rate_first, standing.zone)
        detail = f"{rate:g} mL/h is above {policy.rate_first_max_ml_h:g} mL/h until {until}."
        yield Advice("fast_first_minutes", detail, "rate.first_max_ml_h")


def _above_permitted(standing: Standing) -> Iterator[Advice]:
    infusion = standing.infusion
    rate, permitted = infusion.rate_ml_h, infusion.permitted_rate_ml_h
    if rate is not None and rate > permitted:
        detail = f"{rate:g} mL/h is above the ceiling of {permitted:g} mL/h."
        yield Advice("above_ceiling", detail, standing.rate_rule)


def _cannot_finish(standing: Standing) -> Iterator[Advice]:
    infusion = standing.infusion
    if standing.episode.phase in _GIVING and infusion.cannot_finish:
        detail = (
            f"The rest would need {infusion.needed_rate_ml_h or 0:.0f} mL/h and "
            f"{infusion.permitted_rate_ml_h:g} is the ceiling: part of the unit has to be stopped."
        )
        yield Advice("cannot_finish", detail, standing.rate_rule)


def _volume_unknown(standing: Standing) -> Iterator[Advice]:
    if standing.episode.volume_ml is None and standing.episode.issued_at is not None:
        detail = "The volume of the unit was not recorded: no end can be projected."
        yield Advice("volume_unknown", detail, None)


def _reading_differs(standing: Standing) -> Iterator[Advice]:
    difference = standing.infusion.read_difference_ml
    if difference is not None and abs(difference) >= 1:
        more = "more" if difference > 0 else "less"
        detail = f"The last reading is {abs(difference):.0f} mL {more} than the rates give."
        yield Advice("reading_differs", detail, None)


def _late_watch(standing: Standing) -> Iterator[Advice]:
    for clock, state in standing.clocks:
        if clock.name is ClockName.LATE_WATCH and state is ClockState.OPEN and clock.limit_at:
            until = wall_time(clock.limit_at, standing.zone, standing.now)
            detail = f"Signs of a reaction can come late: watch until {until}."
            yield Advice("late_watch", detail, "late_watch.hours")


def _linked_warning(standing: Standing) -> Iterator[Advice]:
    for warning in standing.episode.open_warnings:
        yield Advice("linked_warning", warned(standing, warning), "reaction.linked_minutes")


def _held(standing: Standing) -> Iterator[Advice]:
    by = standing.held_by
    if by is not None and standing.episode.phase in _BEFORE_THE_END:
        yield Advice("held", held(standing, by), None)


def _review(standing: Standing) -> Iterator[Advice]:
    """A later unit of an order waits for a look at the patient and at what the one before did."""
    request = standing.episode.request
    waits = standing.episode.phase in _BEFORE_THE_END - _GIVING
    if request.history or not waits or request.n == 1 or request.component is not _RED_CELLS:
        return
    detail = (
        f"Unit {request.n} of {request.units}: review the patient and the haemoglobin before it, "
        "except in bleeding or a regular programme, by local policy."
    )
    volume, weight = standing.episode.volume_ml, standing.around.patient.weight_kg
    if volume is not None and weight is not None:
        rise = expected_rise_g_l(volume, weight, standing.policy)
        detail += (
            f" {volume:g} mL at {weight:g} kg is expected to raise it by about {rise:.1f} g/L."
        )
    yield Advice("review_before_unit", detail, "review.rise_ml_per_kg")


def _unit(standing: Standing) -> Iterator[Advice]:
    """What speaks against the unit; once it is started, as it was at the start."""
    episode, around = standing.episode, standing.around
    if episode.request.history or episode.phase not in _BEFORE_THE_END:
        return
    at = episode.started_at or standing.now
    for one in check_unit(episode, standing.policy, around, at).findings:
        yield Advice(one.code, one.detail, None, one.source)


_ADVISERS: Final[tuple[Callable[[Standing], Iterator[Advice]], ...]] = (
    _linked_warning,
    _held,
    _no_issue_time,
    _override,
    _identity_failed,
    _review,
    _unit,
    _return_passed,
    _baseline_early,
    _slow_start,
    _above_permitted,
    _cannot_finish,
    _volume_unknown,
    _reading_differs,
    _late_watch,
)
