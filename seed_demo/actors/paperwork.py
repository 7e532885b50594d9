"""What is said about the clocks: "I have it", and why a limit was missed."""

from collections.abc import Iterator
from typing import Final

from seed_demo import chance
from seed_demo.actors.scene import Look, Wish
from server.domain.breaches import Breach
from server.domain.clock import Clock
from server.domain.payloads import Acknowledged, CauseGiven
from server.domain.reminders import acknowledgement_of
from server.domain.words import ClockName, ClockState

CAUSES: Final = (
    "at another bedside",
    "two checks at the same time",
    "on a break, nobody took over",
    "patient away from the ward",
    "unit came up late",
)
SILENT: Final = frozenset({ClockName.LATE_WATCH, ClockName.FINISH})
SETTLED: Final = frozenset({ClockState.MET_LATE, ClockState.MISSED})


def wishes_on_paper(look: Look) -> Iterator[Wish]:
    """Acknowledgements of what is overdue, then causes of what was."""
    for clock in look.picture.standing.in_state(ClockState.OVERDUE):
        yield from _acknowledge(look, clock)
    for breach in look.picture.breaches:
        yield from _give_cause(look, breach)


def _acknowledge(look: Look, clock: Clock) -> Iterator[Wish]:
    label = f"acknowledged {clock.name} {clock.n}"
    by = look.duty.staff_id if look.duty and look.duty.is_free(look.now) else None
    by = by or look.shift.charge.staff_id
    if clock.limit_at is None or clock.name in SILENT or not look.happens(0.6, label):
        return
    if acknowledgement_of(clock, look.picture.standing) is None:
        yield Wish(clock.limit_at + look.lag(label, 2, 6), Acknowledged(clock.name, by), by)


def _give_cause(look: Look, breach: Breach) -> Iterator[Wish]:
    label = f"cause {breach.clock} {breach.n}"
    if breach.state not in SETTLED or breach.cause is not None or not look.happens(0.5, label):
        return
    cause = chance.one_of(CAUSES, look.seed, look.id, label)
    at = (breach.met_at or breach.limit_at) + look.lag(label, 8, 30)
    yield Wish(at, CauseGiven(breach.clock, cause, n=breach.n))
