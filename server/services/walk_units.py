"""Walk over the units and compare what is stored of each with its facts; nothing is written."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial, reduce

from server.domain.request import Request
from server.services.raise_reminders import identity_of
from server.services.rebuild import Worked, differing, worked_out
from server.services.sound_cases import or_none
from server.store.orders import Order, whole_orders
from server.store.reminders import reminders_of_episodes
from server.store.sessions import ReadSession


@dataclass(frozen=True, slots=True)
class Suspects:
    """Units of which something is wrong, by what: rows, facts, reminders, orders.

    `unreadable` have facts that cannot be read; the order of the `misordered` cannot, or says
    something else than the unit.
    """

    differing: tuple[str, ...] = ()
    unreadable: tuple[str, ...] = ()
    unraised: tuple[str, ...] = ()
    misordered: tuple[str, ...] = ()

    @property
    def ids(self) -> frozenset[str]:
        """All of them."""
        return frozenset((*self.differing, *self.unreadable, *self.unraised, *self.misordered))

    def joined(self, others: "Suspects") -> "Suspects":
        """These and others."""
        return Suspects(
            _both(self.differing, others.differing),
            _both(self.unreadable, others.unreadable),
            _both(self.unraised, others.unraised),
            _both(self.misordered, others.misordered),
        )


def walk_units(session: ReadSession, episode_ids: Collection[str], *, now: datetime) -> Suspects:
    """Answer which of these units something is wrong of. Raises `Away`.

    A row that cannot even be read is no more what its facts say than one that is wrong.
    """
    ids = sorted(set(episode_ids))
    found = or_none(partial(_walk, session, ids, now))
    if found is not None:
        return found
    if len(ids) == 1:
        return Suspects(differing=tuple(ids))
    each = (walk_units(session, [one], now=now) for one in ids)
    return reduce(Suspects.joined, each, Suspects())


def _walk(session: ReadSession, ids: Sequence[str], now: datetime) -> Suspects:
    worked = worked_out(session, ids, now)
    different = {one.state.episode_id for one in differing(session, worked)}
    sound = {one: worked[one] for one in worked if one not in different}
    return Suspects(
        tuple(sorted(different)),
        tuple(one for one in ids if one not in worked),
        _unraised(session, sound),
        _misordered(session, worked),
    )


def _unraised(session: ReadSession, worked: Mapping[str, Worked]) -> tuple[str, ...]:
    """The units of which a reminder is owed, as of their rows, that does not exist."""
    owed = {
        episode_id: {identity_of(one) for one in derived.picture.reminders}
        for episode_id, (derived, _) in worked.items()
        if not derived.picture.case.request.history and derived.picture.reminders
    }
    raised = reminders_of_episodes(session, owed)
    return tuple(
        episode_id
        for episode_id, reminders in owed.items()
        if reminders - {identity_of(one) for one in raised.get(episode_id, ())}
    )


def _misordered(session: ReadSession, worked: Mapping[str, Worked]) -> tuple[str, ...]:
    """The units that were asked for otherwise than their order says, or whose order is damaged."""
    asked = [derived.picture.case.request for derived, _ in worked.values()]
    orders = whole_orders(session, (one.order_id for one in asked if one.order_id is not None))
    return tuple(
        sorted(
            one.id
            for one in asked
            if one.order_id is not None and not _is_of(one, orders.get(one.order_id))
        )
    )


def _is_of(request: Request, order: Order | None) -> bool:
    if order is None:
        return False
    unit = order.unit(request.n, requested_at=request.requested_at, nurse_id=request.nurse_id)
    return unit == replace(request, id=unit.id)


def _both(one: Collection[str], other: Collection[str]) -> tuple[str, ...]:
    return tuple(sorted({*one, *other}))
