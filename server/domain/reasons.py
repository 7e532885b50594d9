"""Why a row stands where it stands: one sentence with the numbers, for each level.

A reason states facts and limits of the local policy. It never says to go on.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from server.domain.clock import Clock
from server.domain.episode import LinkedWarning
from server.domain.plan.planned import Planned
from server.domain.reaction import Elsewhere
from server.domain.standing import Standing
from server.domain.wording import CLOCK, ago, span, until, wall_time, whole_minutes
from server.domain.words import ClockName, Fate, Phase

_FATE: Final[dict[Fate, str]] = {
    Fate.TRANSFUSED: "Transfused",
    Fate.PART_TRANSFUSED: "Part transfused",
    Fate.RETURNED: "Returned",
    Fate.DISCARDED: "Discarded",
}


def _at(standing: Standing, instant: datetime) -> str:
    return wall_time(instant, standing.zone, standing.now)


def _is_plural(clock: Clock) -> bool:
    return CLOCK[clock.name].endswith("s")


def reaction(standing: Standing) -> str:
    """A suspected reaction is open."""
    episode = standing.episode
    since = episode.reaction_at or standing.now
    text = f"Suspected reaction since {_at(standing, since)}."
    if episode.ended_at is not None:
        return f"{text} Transfusion ended {_at(standing, episode.ended_at)}."
    return f"{text} Transfusion is {episode.phase}: not yet recorded as stopped."


def held(standing: Standing, by: Elsewhere) -> str:
    """A reaction is suspected with another unit of the same patient."""
    since = _at(standing, by.since)
    act = "Held" if standing.episode.started_at is None else "Pause and assess"
    return f"{act}: suspected reaction since {since} in {by.place}."


def warned(standing: Standing, warning: LinkedWarning) -> str:
    """An identity error with another patient may concern this unit."""
    unit = f", unit {warning.unit_number}," if warning.unit_number else ""
    return (
        f"Phone the laboratory at once: identity error in bed {warning.bed}{unit} found "
        f"{_at(standing, warning.at)}. Check this unit and patient."
    )


def warned_in_short(warnings: Sequence[LinkedWarning]) -> str:
    """The same for a row: whole wards are warned at once, and the unit's page says the rest."""
    beds = dict.fromkeys(warning.bed for warning in warnings)
    return f"Phone the laboratory at once: identity error in bed {', bed '.join(beds)}."


def past_limit(standing: Standing, limit: datetime) -> str:
    """The finish limit is passed and the unit is still out."""
    passed = f"the finish limit {_at(standing, limit)} passed {ago(limit, standing.now)}."
    if standing.episode.started_at is None:
        return f"Not started, and {passed}"
    return f"Not ended, and {passed}"


def overdue(standing: Standing, clock: Clock) -> str:
    """A limit is passed unmet."""
    limit = clock.limit_at or standing.now
    if clock.name is ClockName.RETURN:
        removed = clock.opens_at or limit
        return (
            f"Out of storage since {_at(standing, removed)}, past {_at(standing, limit)}: "
            "may no longer go back to stock."
        )
    text = f"{CLOCK[clock.name]} {'were' if _is_plural(clock) else 'was'} due"
    if clock.due_at is None or clock.due_at == limit:
        return f"{text} {_at(standing, limit)}, {ago(limit, standing.now)}."
    return (
        f"{text} {_at(standing, clock.due_at)}, "
        f"limit {_at(standing, limit)} passed {ago(limit, standing.now)}."
    )


def at_risk(standing: Standing, limit: datetime) -> str:
    """It will not be in by the finish limit as things stand."""
    infusion = standing.infusion
    if standing.episode.started_at is None:
        return _started_too_late(standing, limit)
    if infusion.cannot_finish:
        return (
            f"{infusion.left_ml or 0:.0f} mL left needs {infusion.needed_rate_ml_h or 0:.0f} mL/h, "
            f"above the permitted {infusion.permitted_rate_ml_h:g}: cannot finish by "
            f"{_at(standing, limit)}."
        )
    end = infusion.projected_end_at or limit
    late = span(max(1, whole_minutes(limit, end)))
    return (
        f"At {infusion.rate_ml_h or 0:g} mL/h it ends {_at(standing, end)}, "
        f"{late} after its limit {_at(standing, limit)}."
    )


def _started_too_late(standing: Standing, limit: datetime) -> str:
    infusion, planned = standing.infusion, standing.planned
    latest = infusion.latest_start_at or standing.now
    reach = f"at {infusion.permitted_rate_ml_h:g} mL/h to end by {_at(standing, limit)}"
    if standing.now > latest or planned is None:
        return f"Not started; {_at(standing, latest)} was the latest start {reach}."
    late = span(max(1, whole_minutes(latest, planned.start_at)))
    return (
        f"Start planned for {_at(standing, planned.start_at)}, {late} too late: "
        f"{_at(standing, latest)} is the latest start {reach}."
    )


def due(standing: Standing, clock: Clock) -> str:
    """Something is due now."""
    falls_due = clock.due_at or standing.now
    text = f"{CLOCK[clock.name]} due since {_at(standing, falls_due)}"
    if clock.limit_at is None or clock.limit_at == clock.due_at:
        verb = "are" if _is_plural(clock) else "is"
        return f"{CLOCK[clock.name]} {verb} due now, {_at(standing, falls_due)}."
    return f"{text}, limit {_at(standing, clock.limit_at)}."


def soon(standing: Standing, clock: Clock) -> str:
    """Something falls due within the notice."""
    falls_due = clock.due_at or standing.now
    text = f"{CLOCK[clock.name]} due {_at(standing, falls_due)}, {until(falls_due, standing.now)}"
    if clock.name in (ClockName.START, ClockName.RETURN):
        issued = standing.episode.removed_at or falls_due
        return f"Left storage {_at(standing, issued)} and not started. {text}."
    return f"{text}."


def steady(standing: Standing) -> str:
    """Nothing is due."""
    episode, infusion = standing.episode, standing.infusion
    if episode.phase is Phase.ISSUED:
        return _issued(standing)
    if episode.phase is Phase.PAUSED:
        return f"Paused, {infusion.given_ml:.0f} mL given."
    if episode.ended_at is not None:
        return f"Ended {_at(standing, episode.ended_at)}; the bag is not yet accounted for."
    if infusion.left_ml == 0:
        return f"All {infusion.given_ml:.0f} mL should be in; the end is not recorded."
    if infusion.projected_end_at is None:
        return f"{infusion.rate_ml_h or 0:g} mL/h; no projected end."
    return _running(standing, infusion.projected_end_at)


def _issued(standing: Standing) -> str:
    issued = standing.episode.issued_at or standing.now
    text = f"Issued {_at(standing, issued)}, not started"
    latest, planned = standing.infusion.latest_start_at, standing.planned
    if planned is None or latest is None:
        return f"{text}."
    if planned.start_at < standing.now:
        passed = ago(planned.start_at, standing.now)
        return f"{text}; start was planned for {_at(standing, planned.start_at)}, {passed}."
    left = span(whole_minutes(planned.start_at, latest))
    return f"{text}; start at {_at(standing, planned.start_at)} leaves {left} to spare."


def _running(standing: Standing, end: datetime) -> str:
    text = f"{standing.infusion.rate_ml_h or 0:g} mL/h, ends {_at(standing, end)}"
    limit = standing.finish_limit_at
    if limit is None:
        return f"{text}; no finish limit is known."
    return f"{text}, {span(whole_minutes(end, limit))} to spare."


def waiting(standing: Standing) -> str:
    """Not issued yet."""
    request, phase = standing.episode.request, standing.episode.phase
    text = "Ready at the blood bank" if phase is Phase.AVAILABLE else "Requested, not yet ready"
    if standing.planned is not None and standing.planned.call_at is not None:
        return f"{text}; {_called(standing, standing.planned, standing.planned.call_at)}."
    if request.wanted_by is not None:
        return f"{text}; wanted by {_at(standing, request.wanted_by)}."
    if request.not_before is not None:
        return f"{text}; not before {_at(standing, request.not_before)}."
    return f"{text}."


def _called(standing: Standing, planned: Planned, call_at: datetime) -> str:
    if call_at < standing.now:
        return f"call was planned for {_at(standing, call_at)}, {ago(call_at, standing.now)}"
    text = f"call at {_at(standing, call_at)}, start at {_at(standing, planned.start_at)}"
    if planned.spare_minutes is None:
        return text
    return f"{text} leaves {span(planned.spare_minutes)} to spare"


def closed(standing: Standing) -> str:
    """Nothing is owed any more."""
    episode = standing.episode
    closed_at = episode.fate_at or episode.moved_at or standing.now
    if episode.fate is None:
        return f"Cancelled {_at(standing, closed_at)}."
    text = f"{_FATE[episode.fate]} {_at(standing, closed_at)}"
    if episode.ended_at is None:
        return f"{text}."
    watch = episode.ended_at + standing.policy.late_watch
    return f"{text}. Watch for late signs until {_at(standing, watch)}."
