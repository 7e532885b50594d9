"""New facts of a unit that change nothing but the unit itself: its case need not be read again."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from server.domain.events import Event
from server.domain.picture import Case
from server.domain.window import concerning
from server.domain.words import Kind

# Facts that reach further than the unit they are recorded on, or change what judges it.
_FAR_REACHING: Final = frozenset(
    {Kind.SET_HUNG, Kind.SET_CHANGED, Kind.ISSUED, Kind.VOIDED, Kind.STARTED}
)


def with_plain(case: Case, facts: Sequence[Event]) -> Case | None:
    """Answer the case with new facts of the patient; None where more than they has to be read."""
    if not all(_is_plain(fact, case) for fact in facts):
        return None
    events = concerning(case.request, case.policy, [*case.events, *facts])
    return replace(case, events=events)


def _is_plain(fact: Event, case: Case) -> bool:
    """Whether a fact is the unit's own, reaches no further, and lets no earlier set in."""
    request = case.request
    asked = request.requested_at or request.recorded_at
    own = fact.episode_id == request.id and fact.kind not in _FAR_REACHING
    return own and fact.happened_at >= asked
