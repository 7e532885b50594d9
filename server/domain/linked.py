"""A linked warning: an identity error with one patient may concern the blood of another.

Whoever got the wrong unit, somebody else's unit may hang at the next bed. Two bags can only be
taken for each other while both wait to be hung. So every unit of the ward is warned of that still
waited about when the wrong one came, or came since, whatever the component: a bag that was taken
for another is wrong in any case. A unit given meanwhile counts as well, for its patient has it; one
that left the ward unopened harms nobody.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from server.domain.episode import Episode
from server.domain.words import Phase


@dataclass(frozen=True, slots=True)
class IdentityError:
    """Where checking identity again found the wrong unit or patient, and when."""

    episode: Episode
    found_at: datetime


def concerns(error: IdentityError, other: Episode, within: timedelta) -> bool:
    """Answer whether an identity error has to be warned of at another unit.

    `within` is the margin: how long before the wrong unit came the other may have been hung. The
    wards are the caller's to compare; the patients must differ.
    """
    wrong, came = error.episode, _came_at(other)
    if came is None or other.request.patient_id == wrong.request.patient_id:
        return False
    if other.started_at is None and other.phase is not Phase.ISSUED:
        return False
    waited_until = other.started_at or error.found_at
    earliest = (_came_at(wrong) or error.found_at) - within
    return came <= error.found_at and waited_until >= earliest


def _came_at(episode: Episode) -> datetime | None:
    return episode.issued_at or episode.started_at
