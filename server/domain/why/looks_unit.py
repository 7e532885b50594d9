"""What the unit itself met on its way: receipt, identity check, reactions, the plan, the entry."""

from collections.abc import Iterator

from server.domain.payloads import IdentityChecked
from server.domain.why.link import Fact, Link
from server.domain.why.telling import Telling
from server.domain.wording import span, whole_minutes
from server.domain.words import Kind


def received_late(telling: Telling) -> Iterator[Link]:
    """The way took longer out of storage than the policy reckons with."""
    episode, policy = telling.episode, telling.policy
    issued, received = episode.issued_at, episode.received_at
    if issued is None or received is None or received - issued <= policy.work_carried:
        return
    took = span(whole_minutes(issued, received))
    of = span(round(policy.start_target.total_seconds() / 60))
    reckoned = span(round(policy.work_carried.total_seconds() / 60))
    words = (
        f"Received at {telling.time(received)}: the way from the issue took {took} of the {of} to "
        f"the start; {reckoned} are reckoned for it."
    )
    events = tuple(one.id for one in telling.asked.events if one.kind is Kind.RECEIVED)
    yield Link(Fact.RECEIVED_LATE, issued, words, received, event_ids=events)


def identity_again(telling: Telling) -> Iterator[Link]:
    """The identity check was interrupted, or did not agree, and had to begin again."""
    for event in telling.asked.events:
        checked = event.payload
        if isinstance(checked, IdentityChecked) and not checked.passed:
            found = "was interrupted" if checked.interrupted else "did not agree"
            words = (
                f"The identity check of {telling.time(event.happened_at)} {found}: it begins "
                "again from the top."
            )
            yield Link(Fact.IDENTITY_AGAIN, event.happened_at, words, event_ids=(event.id,))


def held_by_reaction(telling: Telling) -> Iterator[Link]:
    """A reaction suspected with another unit of the patient held this one."""
    for one in telling.asked.run.case.elsewhere:
        over = one.closed_at
        if one.since <= telling.limit_at and (over is None or over > telling.window.from_at):
            until = "" if over is None else f" until {telling.time(over)}"
            words = (
                f"A reaction was suspected with another unit of the patient ({one.place}) from "
                f"{telling.time(one.since)}{until}; that held this one."
            )
            yield Link(Fact.HELD, one.since, words, over, episode_ids=(one.episode_id,))


def own_reaction(telling: Telling) -> Iterator[Link]:
    """A reaction was suspected with this unit before its limit."""
    for one in telling.episode.reactions:
        over = one.closed_at
        if one.since <= telling.limit_at and (over is None or over > telling.window.from_at):
            until = "" if over is None else f" until {telling.time(over)}"
            words = (
                f"A reaction was suspected with this unit from {telling.time(one.since)}{until}."
            )
            yield Link(Fact.REACTION, one.since, words, over)


def plan_of_start(telling: Telling) -> Iterator[Link]:
    """The plan itself had no time for the start, or it came later than planned."""
    planned, start = telling.around.planned, telling.episode.started_at
    if planned is None:
        return
    said = f"The plan in force when it was issued had the start at {telling.time(planned.start_at)}"
    if planned.start_at > telling.limit_at:
        words = f"{said}, past its limit {telling.time(telling.limit_at)}."
        yield Link(Fact.PLANNED_LATE, planned.start_at, words)
    elif start is not None and start > planned.start_at:
        late = span(max(1, whole_minutes(planned.start_at, start)))
        words = f"{said}; it was started at {telling.time(start)}, {late} later."
        yield Link(Fact.LATER_THAN_PLANNED, planned.start_at, words, start)


def entered_late(telling: Telling) -> Iterator[Link]:
    """What met the clock was charted later than it was done, so that the board showed it unmet."""
    met = telling.settled_by
    if met is None or not met.is_late_entry(telling.policy.charting_late):
        return
    done, charted = telling.time(met.happened_at), telling.time(met.recorded_at)
    after = span(max(1, whole_minutes(met.happened_at, met.recorded_at)))
    in_time = met.happened_at <= telling.limit_at
    head = f"Done in time, at {done}" if in_time else f"Done at {done}"
    shown = "as passed" if met.recorded_at > telling.limit_at else "as still owed"
    words = (
        f"{head}, and charted at {charted}, {after} later: until then the board showed it {shown}."
    )
    yield Link(Fact.LATE_ENTRY, met.happened_at, words, met.recorded_at, event_ids=(met.id,))
