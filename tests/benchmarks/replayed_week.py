"""A week of the demonstration's ward, listened to, then replayed at a thousand random seconds.

`python -m tests.benchmarks replayed_week` acts the week out with the simulated nurses, who look
at the board and do what they decide; on top of it vital signs are charted late, entries are taken
back and colleagues cover for each other. Somebody listens to the stream. Afterwards each instant
is replayed as it was known then and compared with what the listener had on the screens.
"""

from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Final

from seed_demo.rota import shift_at
from seed_demo.simulated_shift import NOT_DONE
from seed_demo.staff import BLOOD_BANK, EARLY, WARD_ID, actor_named
from server.domain.payloads import Voided
from server.domain.words import Kind
from server.services.cover import CoverDraft, cover
from server.services.read_board import read_board
from server.services.record_event import Draft, record_event
from server.services.record_observation import record_observation
from server.services.replay_ward import Replay, replay_ward
from server.services.tick import tick
from server.store.log import last_position, ward_events_after
from server.store.store import Store
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Report
from tests.domain.builders import FULL
from tests.services.demo_ward import START, copied, shift_on, tell_to
from tests.services.listening import Listener, seen, shown_by

DAYS: Final = 7
INSTANTS: Final = 1_000
STEP: Final = timedelta(minutes=3)
SEED: Final = 5


def run(options: Options) -> Report:
    """Answer what was compared, and how long a replay took."""
    days = 1 if options.quick else DAYS
    count = options.size(INSTANTS)
    chance = Random(SEED)  # noqa: S311 - a simulation, repeated by its seed
    seconds = sorted(chance.sample(range(days * 86_400), count))
    with TemporaryDirectory() as folder:
        told = tell_to(Path(folder) / "told.db")
        (Path(folder) / "week").mkdir()
        with copied(told, Path(folder) / "week") as store:
            listener = Listener(store, WARD_ID, EARLY.charge.actor)
            _act_out(store, listener, chance, [START + timedelta(seconds=s) for s in seconds])
            return Report(_compared(store, listener))


def _act_out(store: Store, listener: Listener, chance: Random, wanted: list[datetime]) -> None:
    """Steps of the nurses and troubles by turns; the listener looks at each wanted second."""
    nurses, ahead = shift_on(store), iter(wanted)
    look_at: datetime | None = next(ahead)
    for now in _steps(wanted[-1]):
        while look_at is not None and look_at < now:
            tick(store, now=look_at)
            listener.note(look_at)
            look_at = next(ahead, None)
        nurses.step(now)
        with suppress(*NOT_DONE):
            _trouble(store, chance, now)
        tick(store, now=now)
        listener.follow(now)


def _steps(last: datetime) -> Iterator[datetime]:
    now = START
    while now <= last:
        now += STEP
        yield now


def _trouble(store: Store, chance: Random, now: datetime) -> None:
    """In most steps nothing; else a set charted late, an entry taken back, or a cover."""
    pick = chance.random()
    with store.write() as session:
        if pick < 0.08:
            rows = read_board(session, BLOOD_BANK, WARD_ID, now=now).rows
            patient = chance.choice(rows).picture.case.request.patient_id
            happened_at = now - timedelta(minutes=chance.choice((5, 20, 45, 90)))
            record_observation(session, BLOOD_BANK, patient, FULL, happened_at=happened_at, now=now)
        elif pick < 0.12:
            recent = ward_events_after(session, WARD_ID, last_position(session) - 30)
            mistaken = chance.choice(recent).event
            draft = Draft(Kind.VOIDED, now, Voided(mistaken.id, "mistake"))
            record_event(session, BLOOD_BANK, mistaken.episode_id or "", draft, now=now)
        elif pick < 0.15:
            shift = shift_at(START, now)
            one, other = chance.sample([duty.staff_id for duty in shift.everybody], 2)
            asked = CoverDraft(WARD_ID, one, other, now, now + timedelta(minutes=40))
            cover(session, actor_named(shift.charge.staff_id), asked, now=now)


def _compared(store: Store, listener: Listener) -> str:
    took: list[float] = []
    rows = differing = changed = late = 0
    for at, heard in listener.heard.items():
        with store.read() as session:
            begun = perf_counter()
            replay = replay_ward(session, EARLY.charge.actor, WARD_ID, at=at)
            took.append(1000 * (perf_counter() - begun))
            shown = shown_by(session, replay, EARLY.charge.id)
        rows += len(heard.board.rows)
        differing += seen(shown, heard) != seen(heard, heard)
        changed += _is_changed(replay)
        late += sum(map(len, replay.later.values()))
    return "\n".join(
        (
            f"{len(took)} instants, {rows} rows, {listener.changes} changes heard",
            f"{differing} instants differ from what the listener saw",
            f"at {changed} something stood otherwise than is known now, by {late} facts",
            f"a replay took {median(took):.0f} ms, 95 in 100 under {quantiles(took, n=20)[-1]:.0f}",
        )
    )


def _is_changed(replay: Replay) -> bool:
    return replay.then.board.rows != replay.now.board.rows
