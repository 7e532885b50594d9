"""How two plans differ, unit by unit."""

from dataclasses import dataclass

from server.domain.plan.proposal import Proposal, Start


@dataclass(frozen=True, slots=True)
class Difference:
    """One unit that stands otherwise; None: it has no start there."""

    episode_id: str
    before: Start | None
    after: Start | None


def differences(before: Proposal | None, after: Proposal) -> tuple[Difference, ...]:
    """Answer the units whose check, nurse or second person differ, by the earlier of the instants.

    Reasons and the place of movable checks are no difference: nobody has to act otherwise.
    """
    old = {} if before is None else {start.episode_id: start for start in before.starts}
    new = {start.episode_id: start for start in after.starts}
    found = [
        Difference(one, old.get(one), new.get(one))
        for one in {**old, **new}
        if _acts(old.get(one)) != _acts(new.get(one))
    ]
    return tuple(sorted(found, key=_place))


def _acts(start: Start | None) -> object:
    return None if start is None else (start.check_at, start.nurse_id, start.second_id)


def _place(one: Difference) -> tuple[object, str]:
    instants = [start.check_at for start in (one.before, one.after) if start is not None]
    return (min(instants), one.episode_id)
