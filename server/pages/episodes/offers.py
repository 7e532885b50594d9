"""Which forms a step shows: what may be done now, and what may have been left uncharted."""

from typing import Final

from server.domain.confirmations import STEPS as CONFIRMED_STEPS
from server.domain.events import Event
from server.domain.phases import ALLOWED
from server.domain.picture import Picture
from server.domain.reaction_gate import holds_bag
from server.domain.words import Confirmation, Kind, Phase
from server.pages.episodes.desk import Sent
from server.pages.episodes.done_views import act_of_event
from server.pages.episodes.pathway import Act, Step

ONCE: Final = frozenset(
    {Kind.AVAILABLE, Kind.ISSUED, Kind.RECEIVED, Kind.SPIKED, Kind.STARTED, *Confirmation}
)
"""What happens once to a unit: done, it is offered no more."""

OVER: Final = frozenset(
    {
        Kind.CANCELLED,
        Kind.STARTED,
        Kind.COMPLETED,
        Kind.STOPPED,
        Kind.FATE,
        Kind.RETURNED,
        Kind.DISCARDED,
        Kind.RESUMED,
        Confirmation.REASSESSED,
    }
)
"""What changes where the unit stands: offered only while the phase allows it."""

ELSEWHERE: Final = frozenset({Kind.IDENTITY_CHECKED})
"""What has a page of its own."""


def offered_acts(
    step: Step, ahead: int, picture: Picture, live: tuple[Event, ...], sent: Sent | None
) -> tuple[Act, ...]:
    """Answer what a step offers; `ahead` is how many steps it lies ahead of the present one.

    A form that was refused is offered whatever became of the unit: what was typed is kept.
    """
    done = {act_of_event(event) for event in live}
    return tuple(
        act
        for act in _in_order(step.acts, picture)
        if act not in ELSEWHERE
        and not (act is Kind.DISCARDED and is_bag_kept(picture) and not _is_sent(act, step, sent))
        and (
            _is_sent(act, step, sent)
            or (act not in (done & ONCE) and _is_possible(act, ahead, picture.episode.phase))
        )
    )


def is_bag_kept(picture: Picture) -> bool:
    """Whether the laboratory waits for the bag: nothing is thrown away then."""
    return holds_bag(picture.episode.reaction, picture.case.policy)


def _in_order(acts: tuple[Act, ...], picture: Picture) -> tuple[Act, ...]:
    """The likely act first: while a reaction is suspected, a unit ends by being stopped."""
    suspected = picture.episode.reaction_at is not None
    return tuple(sorted(acts, key=lambda act: act is not Kind.STOPPED)) if suspected else acts


def _is_possible(act: Act, ahead: int, phase: Phase) -> bool:
    allowed = CONFIRMED_STEPS[act].phases if isinstance(act, Confirmation) else ALLOWED[act]
    return phase in allowed or (ahead < 0 and act not in OVER)


def _is_sent(act: Act, step: Step, sent: Sent | None) -> bool:
    kind = Kind.CONFIRMED if isinstance(act, Confirmation) else act
    return sent is not None and sent.key == f"{step.key}-{kind}"
