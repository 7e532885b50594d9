"""Which bags two episodes hold at once: nothing refuses a record of the past, so it is told."""

from server.domain.issued_units import IssuedUnit, held_at_once
from server.store.issued_units import units_of_shared_numbers
from server.store.sessions import ReadSession


def list_double_bags(session: ReadSession) -> tuple[str, ...]:
    """Answer one sentence for every pair of episodes; ids and numbers, never a patient."""
    return tuple(_words(*pair) for pair in held_at_once(units_of_shared_numbers(session)))


def _words(one: IssuedUnit, other: IssuedUnit) -> str:
    where = " and ".join(f"{unit.episode_id} since {_at(unit)}" for unit in (one, other))
    return f"{one.number} is held twice at once, by {where}: ask the laboratory which is right"


def _at(unit: IssuedUnit) -> str:
    return f"{unit.issued_at:%Y-%m-%d %H:%M} UTC"
