"""While a unit runs: checks, rates, pauses, the end; usually in time, sometimes not."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from math import ceil
from typing import Final

from seed_demo import chance
from seed_demo.actors.before_start import signs_now
from seed_demo.actors.scene import Look, Wish
from server.domain.payloads import (
    Completed,
    Confirmed,
    Paused,
    RateSet,
    ReactionSuspected,
    Resumed,
    Stopped,
    VolumeRead,
)
from server.domain.words import ClockName, Component, Confirmation, Kind, Phase

USUAL_ML_H: Final = {
    Component.RED_CELLS: (115, 180),
    Component.PLATELETS: (280, 420),
    Component.PLASMA: (180, 320),
    Component.CRYOPRECIPITATE: (250, 400),
    Component.GRANULOCYTES: (80, 130),
    Component.WHOLE_BLOOD: (140, 190),
}
"""Rates that a nurse of this ward likes to run, mL/h. Invented, below every ceiling."""

SYMPTOMS: Final = (
    ("rigors", "fever"),
    ("hives", "itching"),
    ("shortness of breath",),
    ("pain at the cannula", "flushed face"),
)
EMPTY_ML: Final = 0.5


def wishes_running(look: Look) -> Iterator[Wish]:
    """What a unit that is being given wants, the most important first."""
    for want in _WANTS:
        wish = want(look)
        if wish is not None:
            yield wish


def _resume(look: Look) -> Wish | None:
    if look.episode.phase is not Phase.PAUSED:
        return None
    paused = look.last(Kind.PAUSED) or look.now
    return Wish(paused + look.lag("resumed", 6, 14), Resumed())


def _complete(look: Look) -> Wish | None:
    """Nobody sees the last drop: the empty bag is found a few minutes later."""
    left = look.picture.infusion.left_ml
    if look.episode.phase is not Phase.RUNNING or left is None or left > EMPTY_ML:
        return None
    if not look.happens(0.4, f"empty {look.now:%d %H:%M}"):
        return None
    return Wish(look.now, Completed(round(look.episode.volume_ml or 0)))


def _stop(look: Look) -> Wish | None:
    """At the finish limit the rest stays in the bag; now and then somebody is late."""
    limit = look.picture.standing.finish_limit_at
    if limit is None:
        return None
    given = round(look.picture.infusion.given_ml)
    late = look.happens(0.15, "stopped late")
    at = limit + look.lag("stopped", 3, 8) if late else limit - look.lag("stopped", 1, 5)
    return Wish(at, Stopped("finish limit reached", given))


def _suspect(look: Look) -> Wish | None:
    if not look.happens(0.04, "reaction") or look.last(Kind.REACTION_SUSPECTED) is not None:
        return None
    symptoms = chance.one_of(SYMPTOMS, look.seed, look.id, "symptoms")
    return Wish(_started(look) + look.lag("reaction", 17, 60), ReactionSuspected(symptoms))


def _first_check(look: Look) -> Wish | None:
    if look.owed(ClockName.FIRST_CHECK) is None:
        return None
    late = look.happens(0.18, "first check late")
    lag = look.lag("first check", 21, 29) if late else look.lag("first check", 12, 19)
    return Wish(_started(look) + lag, signs_now(look))


def _running_check(look: Look) -> Wish | None:
    clock = look.owed(ClockName.RUNNING_CHECK)
    if clock is None or clock.due_at is None or look.owed(ClockName.FIRST_CHECK) is not None:
        return None
    label = f"running check {clock.n}"
    late = look.happens(0.18, f"{label} late")
    lag = look.lag(label, 16, 30) if late else look.lag(label, -10, 12)
    return Wish(clock.due_at + lag, signs_now(look))


def _read_volume(look: Look) -> Wish | None:
    """After a set of signs some look at the pump as well."""
    if not look.sets or look.sets[-1] < _started(look) + timedelta(minutes=30):
        return None
    last, read = look.sets[-1], look.last(Kind.VOLUME_READ)
    label = f"reading {last:%d %H:%M}"
    if (read is not None and read >= last) or not look.happens(0.4, label):
        return None
    drift = chance.between(0.95, 1.02, look.seed, look.id, label)
    return Wish(
        last + look.lag(label, 1, 2), VolumeRead(round(look.picture.infusion.given_ml * drift))
    )


def _raise_rate(look: Look) -> Wish | None:
    """Once the first quarter of an hour is over and somebody has looked."""
    rate, target = look.picture.infusion.rate_ml_h, _target_ml_h(look)
    if look.episode.phase is not Phase.RUNNING or rate is None or rate >= target:
        return None
    if look.owed(ClockName.FIRST_CHECK) is not None or look.last(Kind.RATE_SET) is not None:
        return None
    looked = [at for at in look.sets if at > _started(look)]
    slow_until = _started(look) + look.picture.case.policy.rate_first
    return Wish(max([slow_until, *looked[:1]]) + look.lag("raised", 0.5, 3), RateSet(target))


def _review_rate(look: Look) -> Wish | None:
    """A rate that may stay as it is, is said to stay."""
    if look.episode.phase is not Phase.RUNNING or look.owed(ClockName.FIRST_CHECK) is not None:
        return None
    reviewed = Confirmation.RATE_REVIEWED in look.episode.confirmed
    looked = [at for at in look.sets if at > _started(look)]
    if reviewed or not looked or look.last(Kind.RATE_SET) is not None:
        return None
    return Wish(looked[0] + look.lag("reviewed", 5, 8), Confirmed(Confirmation.RATE_REVIEWED))


def _catch_up(look: Look) -> Wish | None:
    """At its present rate it would end too late: whoever takes the next set of signs sees it."""
    infusion = look.picture.infusion
    rate, since = infusion.rate_ml_h, infusion.since_at
    if not look.picture.standing.is_at_risk or look.last(Kind.RATE_SET) is None:
        return None
    if rate is None or since is None or not 0 < rate < infusion.permitted_rate_ml_h:
        return None
    seen = next((at for at in look.sets if at > since), None)
    if seen is None:
        return None
    return Wish(seen + look.lag(f"faster {since:%d %H:%M}", 1, 8), RateSet(_faster(look, rate)))


def _faster(look: Look, rate_ml_h: float) -> float:
    permitted = look.picture.infusion.permitted_rate_ml_h
    needed = look.picture.infusion.needed_rate_ml_h or permitted
    return min(permitted, 5.0 * ceil(max(needed * 1.08, rate_ml_h + 5) / 5))


def _pause(look: Look) -> Wish | None:
    if look.episode.phase is not Phase.RUNNING or look.last(Kind.PAUSED) is not None:
        return None
    if not look.happens(0.1, "paused"):
        return None
    return Wish(_started(look) + look.lag("paused", 25, 70), Paused("cannula being replaced"))


def _target_ml_h(look: Look) -> float:
    low, high = USUAL_ML_H[look.picture.case.request.component]
    usual = chance.between(low, high, look.seed, look.id, "rate")
    if look.happens(0.15, "timid"):
        return 5 * ceil(usual * 0.55 / 5)
    needed = (look.picture.infusion.needed_rate_ml_h or 0) * 1.1
    wanted = 5 * ceil(max(usual, needed) / 5)
    return min(look.picture.infusion.permitted_rate_ml_h, wanted)


def _started(look: Look) -> datetime:
    return look.episode.started_at or look.now


_WANTS: Final[tuple[Callable[[Look], Wish | None], ...]] = (
    _complete,
    _stop,
    _suspect,
    _first_check,
    _resume,
    _running_check,
    _raise_rate,
    _review_rate,
    _catch_up,
    _pause,
    _read_volume,
)
