"""The schedule of an episode with 30 events, against a fold written by hand for nothing else."""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Final

from server.domain.clock import Clock
from server.domain.clocks import schedule
from server.domain.events import Event
from server.domain.facts import facts_of
from server.domain.fold import fold
from server.domain.policy import Policy
from server.domain.request import Patient, Request
from server.domain.site import NO_SITE
from server.domain.unit_check import Around
from server.domain.words import Component
from server.policies import load_policies
from tests.benchmarks.minimal_fold import Item, minimal_items
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.benchmarks.stories import THIRTY_EVENTS, told
from tests.benchmarks.turns import by_turns, cpu_us

BASE: Final = datetime(2026, 3, 3, 10, 0, tzinfo=UTC)
WANTED: Final = 3.0
RUNNING_UNTIL: Final = BASE + timedelta(minutes=181)


def run(options: Options) -> Iterator[Outcome]:
    """Fold and schedule, while the unit runs and after its end."""
    policy = load_policies()["common"]
    whole = told(THIRTY_EVENTS, BASE, "e1")
    for name, events in (("30 events", whole), ("29 events, still running", whole[:-1])):
        _require_same(events, policy)
        pair = by_turns(
            options.rounds(25),
            lambda events=events: cpu_us(lambda: scheduled(events, policy), options.times(400)),  # type: ignore[misc]
            lambda events=events: cpu_us(lambda: minimal_items(events, policy), options.times(400)),  # type: ignore[misc]
        )
        yield Outcome(
            f"schedule of an episode, {name}", pair.ours, pair.bare, "µs CPU", pair.ratio, WANTED
        )


def scheduled(events: Sequence[Event], policy: Policy) -> tuple[Clock, ...]:
    """The clocks as the product works them out."""
    return schedule(facts_of(fold(REQUEST, events), policy, (), (), AROUND))


REQUEST: Final = Request(
    id="e1",
    patient_id="p1",
    ward_id="w1",
    bed="4",
    component=Component.RED_CELLS,
    recorded_at=BASE - timedelta(hours=2),
    recorded_by="n1",
    volume_ml=280.0,
)


AROUND: Final = Around(
    Patient(
        id="p1",
        record_number="T000001",
        family_name="Alder",
        given_name="Ida",
        birth_date=date(1961, 5, 4),
    ),
    NO_SITE,
    UTC,
)


def _require_same(events: Sequence[Event], policy: Policy) -> None:
    """Both have to give the same clocks, or the comparison is worth nothing."""
    ours = sorted(map(repr, map(_item, scheduled(events, policy))))
    bare = sorted(map(repr, minimal_items(events, policy)))
    if ours != bare:
        raise AssertionError(f"not the same clocks: {set(ours) ^ set(bare)}")


def _item(clock: Clock) -> Item:
    name, n, opens, due, limit, _, met, lapsed, over = clock
    return (name.value, n, opens, due, limit, met, lapsed, over)
