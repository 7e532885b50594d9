"""A linked warning: an identity error with one patient may concern the blood of another.

Whoever got the wrong unit, somebody else's unit may hang at the next bed. So every unit that came
to the ward about the same time is warned of, whatever the component: a bag that was taken for
another is wrong in any case. A unit already given counts as well, for its patient has it; one that
left the ward unopened harms nobody.
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

    `within` is how long before the wrong unit the other may have come. The wards are the caller's
    to compare; the patients must differ.
    """
    wrong = error.episode
    came = _came_at(other)
    if came is None or other.request.patient_id == wrong.request.patient_id:
        return False
    if other.started_at is None and other.phase is not Phase.ISSUED:
        return False
    earliest = (_came_at(wrong) or error.found_at) - within
    return earliest <= came <= error.found_at


def _came_at(episode: Episode) -> datetime | None:
    return episode.issued_at or episode.started_at
