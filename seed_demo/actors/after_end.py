"""After a unit has ended: flush the line, look once more, account for the bag."""

from collections.abc import Iterator
from datetime import datetime

from seed_demo.actors.before_start import signs_now
from seed_demo.actors.scene import Look, Wish
from server.domain.payloads import FateRecorded, Flushed
from server.domain.words import ClockName, Fate, Kind, Phase


def wishes_after_end(look: Look) -> Iterator[Wish]:
    """What is still to be done with a unit that has ended, its fate recorded or not."""
    ended = look.episode.ended_at
    if ended is None:
        return
    for wish in (_flush(look, ended), _end_check(look, ended), _fate(look, ended)):
        if wish is not None:
            yield wish


def _flush(look: Look, ended: datetime) -> Wish | None:
    if look.episode.phase is not Phase.ENDED or look.last(Kind.FLUSHED) is not None:
        return None
    return Wish(ended + look.lag("flushed", 0.5, 2), Flushed(5))


def _end_check(look: Look, ended: datetime) -> Wish | None:
    if look.owed(ClockName.END_CHECK) is None:
        return None
    late = look.happens(0.1, "end check late")
    lag = look.lag("end check", 61, 80) if late else look.lag("end check", 3, 18)
    return Wish(ended + lag, signs_now(look))


def _fate(look: Look, ended: datetime) -> Wish | None:
    if look.episode.phase is not Phase.ENDED:
        return None
    part = look.episode.stopped_reason is not None
    fate = Fate.PART_TRANSFUSED if part else Fate.TRANSFUSED
    return Wish(ended + look.lag("fate", 20, 70), FateRecorded(fate))
