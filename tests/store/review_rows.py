"""Random derived rows of three wards in three time zones, for what a review counts."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

from server.domain.review.counted import RATED
from server.domain.review.periods import By, cut
from server.domain.review.stretches import Stretch, stretches_of
from server.domain.words import ClockName, ClockState, Component, Fate, Phase, Priority
from server.domain.workload.period import Period
from server.store.clock_states import ClockRecord, save_clocks
from server.store.patients import save_patient
from server.store.requests import add_requests
from server.store.review_stretches import NightHours
from server.store.states import EpisodeState, save_states
from server.store.store import Store
from server.store.wards import Ward, add_ward
from tests.store.facts import a_patient, a_request, a_state

ZONES = {"w1": ZoneInfo("Europe/London"), "w2": ZoneInfo("Pacific/Auckland"), "w3": UTC}
NIGHTS = {"w1": NightHours(20 * 60, 8 * 60), "w2": NightHours(60, 6 * 60), "w3": NightHours(0, 90)}
# The clocks of London are put forward on 29 March and those of Auckland back on 5 April.
PERIOD = Period(datetime(2026, 3, 20, 13, tzinfo=UTC), datetime(2026, 4, 12, 7, tzinfo=UTC))
NOW = datetime(2026, 4, 13, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
BROKEN = {ClockState.MET_LATE, ClockState.MISSED, ClockState.OVERDUE}
CELLS, PLATELETS = Component.RED_CELLS, Component.PLATELETS


@dataclass(frozen=True)
class Rows:
    """What the wards' derived rows say, and the places they are counted in."""

    states: tuple[EpisodeState, ...]
    clocks: tuple[ClockRecord, ...]
    stretches: tuple[Stretch, ...]

    def stretch_of(self, ward_id: str, at: datetime | None) -> Stretch | None:
        """The stretch in which an instant lies, None outside of all."""
        if at is None:
            return None
        theirs = (one for one in self.stretches if one.ward_id == ward_id)
        return next((one for one in theirs if one.period.contains(at)), None)


def a_clock(draw: Random, episode: EpisodeState, n: int, limit_at: datetime) -> ClockRecord:
    clock = draw.choice([*RATED, ClockName.LATE_WATCH])
    state = draw.choice([*[ClockState.MET] * 6, *ClockState])
    if clock is ClockName.LATE_WATCH:
        state = ClockState.LAPSED  # nothing meets it, and nobody misses it
    late = draw.choice([0, 1, 59, 60, 61, 3599, 7200])
    met = {ClockState.MET: limit_at - MINUTE, ClockState.MET_LATE: limit_at + late * MINUTE / 60}
    return ClockRecord(
        episode_id=episode.episode_id,
        ward_id=episode.ward_id,
        clock=clock,
        n=n,
        opens_at=None,
        due_at=None,
        limit_at=limit_at,
        met_at=met.get(state),
        state=state,
        breached_at=limit_at if state in BROKEN else None,
        component=episode.component,
    )


def a_unit(draw: Random, number: int, issued_at: datetime) -> EpisodeState:
    started = issued_at + timedelta(seconds=draw.randrange(5_000))
    ended = started + timedelta(seconds=draw.randrange(20_000))
    course = draw.choice(["given", "given", "given", "running", "waiting", "returned", "history"])
    reassessed = draw.choice([None, ended + draw.randrange(1, 600) * MINUTE])
    has_ended = course in ("given", "history")
    is_started = has_ended or course == "running"
    return a_state(
        f"e{number}",
        ward_id=draw.choice([*ZONES]),
        patient_id=f"p{draw.randrange(30)}",
        component=draw.choice([CELLS, CELLS, PLATELETS]),
        priority=draw.choice([Priority.ROUTINE, Priority.URGENT]),
        phase=Phase.ISSUED,
        issued_at=None if course == "history" else issued_at,
        started_at=started if is_started else None,
        ended_at=ended if has_ended else None,
        reassessed_at=reassessed if has_ended else None,
        fate={"given": Fate.TRANSFUSED, "returned": Fate.RETURNED}.get(course),
        fate_at={"given": ended, "returned": started}.get(course),
    )


def make_rows(store: Store) -> Rows:
    """Draw the rows and store them."""
    draw = Random(5)  # noqa: S311 - repeatable
    span = int((PERIOD.until_at - PERIOD.from_at).total_seconds())
    # Some lie on the very edges of the places, some outside of all of them.
    edges = [one.from_at for one in cut(PERIOD, By.WEEK, UTC)] + [PERIOD.until_at]
    spread = (draw.randrange(-9_999, span + 9_999) for _ in range(240))
    moments = [*(PERIOD.from_at + timedelta(seconds=one) for one in spread), *edges]
    states = tuple(a_unit(draw, n, at) for n, at in enumerate(moments))
    clocks = tuple(a_clock(draw, one, n, draw.choice(moments)) for one in states for n in range(5))
    _save(store, states, clocks)
    return Rows(states, clocks, _stretches())


def _stretches() -> tuple[Stretch, ...]:
    return tuple(
        stretch
        for ward_id, zone in ZONES.items()
        for stretch in stretches_of(ward_id, cut(PERIOD, By.WEEK, zone), zone)
    )


def _save(store: Store, states: tuple[EpisodeState, ...], clocks: tuple[ClockRecord, ...]) -> None:
    with store.write() as session:
        for ward_id in ZONES:
            add_ward(session, Ward(ward_id, ward_id, "UTC", NOW))
        for patient_id in {one.patient_id for one in states}:
            patient = a_patient(patient_id)
            save_patient(session, patient, recorded_at=NOW, recorded_by="importer")
        asked = ((one.episode_id, one.patient_id, one.ward_id) for one in states)
        add_requests(session, [a_request(*ids, ward_id=ward_id) for *ids, ward_id in asked])
        save_states(session, states)
        save_clocks(session, {"": clocks})
