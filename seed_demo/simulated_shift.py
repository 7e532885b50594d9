"""A simulated shift: at each step the nurses look at the board and do what they decide."""

import logging
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from seed_demo.actors.ordering import NewOrder, next_order
from seed_demo.actors.plan import plan
from seed_demo.actors.planning import InForce
from seed_demo.actors.scene import Deed, Look, Scene, scene_of
from seed_demo.kinds import kind_of
from seed_demo.plan_keeper import SECONDS, PlanKeeper
from seed_demo.rota import shift_at, shift_number, shift_of
from seed_demo.set_up import put_on_rota
from seed_demo.staff import BLOOD_BANK, WARD_ID, actor_named
from server.domain.errors import Invalid, Refused
from server.domain.picture import Picture
from server.services.errors import Conflict, Forbidden, NotFound, StaleRevision
from server.services.live_board import LiveBoards
from server.services.open_order import open_order
from server.services.record_event import Draft, record_event
from server.services.register_patient import register_patient
from server.store.errors import Clash
from server.store.store import Store

NOT_DONE: Final = (Refused, Invalid, Conflict, StaleRevision, NotFound, Forbidden, Clash)

_LOG: Final = logging.getLogger(__name__)


@dataclass(slots=True)
class Stepped:
    """What one step saw and did: facts and orders recorded, what was refused, in words.

    `accepted` are the plans put in force.
    """

    looked: tuple[Picture, ...]
    recorded: int = 0
    ordered: int = 0
    accepted: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


class SimulatedShift:
    """The ward's nurses, for a demonstration that began at `start`.

    A unit that somebody else has recorded something about is left alone for `hands_off`, and
    one that refused a deed until something new is known about it. Where a plan is in force they
    follow it; a proposal is searched for `plan_seconds`.
    """

    def __init__(
        self,
        store: Store,
        *,
        seed: int,
        start: datetime,
        hands_off: timedelta,
        plan_seconds: float = SECONDS,
    ) -> None:
        self._store = store
        self._seed = seed
        self._start = start
        self._hands_off = hands_off
        self._boards = LiveBoards(store)
        self._keeper = PlanKeeper(store, hands_off=hands_off, seconds=plan_seconds)
        self._own: set[str] | None = None
        self._entered = 1
        self._stuck: dict[str, int] = {}
        store.on_commit(self._boards.hear)

    def step(self, now: datetime) -> Stepped:
        """Do what is to be done at `now`. Raises `Away` when the database is."""
        self._enter_next_shift(now)
        pictures = tuple(row.picture for row in self._boards.board(WARD_ID, now).rows)
        stepped = Stepped(pictures)
        in_force = self._keeper.look(now)
        scene = self._scene(pictures, now, follows_plan=in_force is not None)
        if in_force is not None:
            self._keep_plan(scene, in_force, stepped)
        for deed in plan(scene):
            self._do(deed, scene, stepped)
        order = next_order(scene)
        if order is not None:
            self._place(order, now, stepped)
        return stepped

    def _keep_plan(self, scene: Scene, in_force: InForce, stepped: Stepped) -> None:
        kept = self._keeper.keep(scene, in_force)
        stepped.accepted += [kept.accepted] if kept.accepted else []
        stepped.refused += [f"plan: {kept.refused}"] if kept.refused else []

    def _scene(self, pictures: tuple[Picture, ...], now: datetime, *, follows_plan: bool) -> Scene:
        """The whole ward, but without hands for what somebody else is busy with."""
        left_alone = set(self._left_alone(pictures, now))
        shift = shift_at(self._start, now)
        return scene_of(
            pictures,
            now=now,
            seed=self._seed,
            shift=shift,
            left_alone=frozenset(left_alone),
            follows_plan=follows_plan,
        )

    def _left_alone(self, pictures: tuple[Picture, ...], now: datetime) -> Iterator[str]:
        if self._own is None:
            self._own = {event.id for one in pictures for event in one.case.events}
        for one in pictures:
            episode_id = one.case.request.id
            if self._stuck.get(episode_id) == one.episode.revision:
                yield episode_id
            recent = (e for e in one.case.events if e.recorded_at > now - self._hands_off)
            if any(event.id not in self._own for event in recent):
                yield episode_id

    def _do(self, deed: Deed, scene: Scene, stepped: Stepped) -> None:
        look = next(look for look in scene.looks if look.id == deed.episode_id)
        draft = _draft(deed, look)
        try:
            with self._store.write() as session:
                recorded = record_event(
                    session, actor_named(deed.by), look.id, draft, now=scene.now
                )
        except NOT_DONE as why:
            self._stuck[look.id] = look.episode.revision
            stepped.refused.append(f"{draft.kind} of {look.id} by {deed.by}: {why}")
            _LOG.info("a simulated nurse could not record %s", stepped.refused[-1])
        else:
            self._remember(recorded.event_id)
            stepped.recorded += 1

    def _place(self, new: NewOrder, now: datetime, stepped: Stepped) -> None:
        charge = actor_named(shift_at(self._start, now).charge.staff_id)
        try:
            with self._store.write() as session:
                if new.patient is not None:
                    register_patient(session, BLOOD_BANK, new.patient, now=now)
                open_order(session, charge, new.order, now=now)
        except NOT_DONE as why:
            stepped.refused.append(f"order {new.order.id}: {why}")
        else:
            stepped.ordered += 1

    def _remember(self, event_id: str) -> None:
        if self._own is not None:
            self._own.add(event_id)

    def _enter_next_shift(self, now: datetime) -> None:
        """Keep the rota one shift ahead; the first two were entered with the ward."""
        number = shift_number(self._start, now) + 1
        if number <= self._entered:
            return
        with self._store.write() as session:
            put_on_rota(session, shift_of(self._start, number), now=now)
        self._entered = number


def _draft(deed: Deed, look: Look) -> Draft:
    """The fact, to be recorded only if the unit is still as it was looked at."""
    kind = kind_of(deed.payload)
    return Draft(
        kind,
        look.now,
        deed.payload,
        expected_revision=look.episode.revision,
        id=f"{look.id}-{look.now:%Y%m%d%H%M%S}-{kind}",
    )
