"""Hold a bag for one episode: no other may be issued it until it went back unused."""

from typing import Final

from server.domain.episode import Episode
from server.domain.issued_units import is_held_twice, issued_unit
from server.services.errors import Conflict
from server.store.issued_units import save_issued_units, units_of_number
from server.store.sessions import ReadSession, WriteSession

HELD: Final = (
    "this unit is already issued for another request: stop, keep the bag apart and call the "
    "transfusion laboratory. If it is another pack of the same donation, give its product code "
    "and division"
)
"""Says nothing of the other request: it may be on a ward that the reader may not see."""


def require_free(session: ReadSession, episode: Episode) -> None:
    """Raise `Conflict` if another episode holds the bag of this one at the same time.

    A record of history is never refused for it: what is past cannot be prevented.
    """
    unit = issued_unit(episode)
    if unit is None or episode.request.history:
        return
    others = units_of_number(session, unit.number)
    if any(one.episode_id != unit.episode_id and is_held_twice(unit, one) for one in others):
        raise Conflict(HELD)


def hold_unit(session: WriteSession, episode: Episode) -> None:
    """Keep which bag the episode holds, or that it holds none any more."""
    save_issued_units(session, {episode.request.id: issued_unit(episode)})
