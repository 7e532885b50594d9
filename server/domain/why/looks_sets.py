"""Sets of vital signs that were taken, and did not meet the check."""

from collections.abc import Iterator

from server.domain.events import Event
from server.domain.payloads import Observed
from server.domain.why.link import Fact, Link
from server.domain.why.telling import Telling
from server.domain.wording import span, whole_minutes
from server.domain.words import ClockName


def partial_sets(telling: Telling) -> Iterator[Link]:
    """A set in the window of the check lacked a sign, so that it met nothing."""
    for _, event in telling.asked.partial_sets:
        if telling.window.contains(event.happened_at) and isinstance(event.payload, Observed):
            signs = telling.asked.missing(event.payload)
            lacking = " and ".join(sign.replace("_", " ") for sign in signs)
            words = (
                f"The set of {telling.time(event.happened_at)} was partial: it lacked {lacking}, "
                "so that it did not meet the check."
            )
            yield Link(Fact.PARTIAL_SET, event.happened_at, words, event_ids=(event.id,))


def early_sets(telling: Telling) -> Iterator[Link]:
    """The last full set before the clock opened, that met nothing else."""
    opens = telling.window.from_at
    for event in [one for one in _too_early(telling) if one.happened_at < opens][-1:]:
        by = span(max(1, whole_minutes(event.happened_at, opens)))
        words = (
            f"A full set was taken at {telling.time(event.happened_at)}, {by} too early: from "
            f"{telling.time(opens)} on it would have counted."
        )
        yield Link(Fact.EARLY_SET, event.happened_at, words, event_ids=(event.id,))


def _too_early(telling: Telling) -> Iterator[Event]:
    """Before a baseline any full set; after the start only those that met no other check."""
    if telling.asked.clock.name is ClockName.BASELINE_CHECK:
        yield from (event for _, event in telling.asked.full_sets)
        return
    start = telling.episode.started_at
    for _, event in telling.asked.free_sets:
        if start is not None and event.happened_at >= start:
            yield event
