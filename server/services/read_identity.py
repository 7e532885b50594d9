"""A unit's identity check as one person may see it: not the other's readings before their time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.identity_check import CheckState, Form, compare, left
from server.domain.identity_reading import Reading
from server.domain.payloads import CheckedItem
from server.services.actor import Actor
from server.services.identity_cases import form_of_unit, sides_of, state_of
from server.services.read_episode import EpisodeRead, read_episode
from server.store.identity_checks import IdentityCheck, newest_check, readings_of
from server.store.sessions import ReadSession
from server.store.staff import staff_names


@dataclass(frozen=True, slots=True)
class IdentityRead:
    """A check for one reader. `check` is the newest of the unit, None before the first.

    `mine` is what the reader read, `theirs` what the other did: empty until both had read
    everything. `left` says for each checker how many items they have still to read. `items` are
    empty while the check runs. `checkers` is how many people the policy asks for.
    """

    read: EpisodeRead
    form: Form
    checkers: int
    check: IdentityCheck | None
    state: CheckState | None
    mine: Sequence[Reading]
    theirs: Sequence[Reading]
    left: Mapping[str, int]
    items: tuple[CheckedItem, ...]
    names: Mapping[str, str]


def read_identity(
    session: ReadSession, actor: Actor, episode_id: str, *, reader: Actor, now: datetime
) -> IdentityRead:
    """Answer the newest check of a unit. Raises `NotFound`, `Forbidden`.

    `actor` is whose session it is, `reader` who reads: another person only after they have signed
    on the same device.
    """
    read = read_episode(session, actor, episode_id, now=now)
    case = read.picture.case
    form = form_of_unit(case, read.picture.episode)
    check = newest_check(session, episode_id)
    sides = {} if check is None else sides_of(check, readings_of(session, check.id))
    state = None if check is None else state_of(check, case.policy, now)
    ended = state not in (None, CheckState.OPEN)
    me = reader.staff_id or ""
    return IdentityRead(
        read=read,
        form=form,
        checkers=case.policy.identity_checkers if check is None else check.checkers,
        check=check,
        state=state,
        mine=sides.get(me, ()),
        theirs=_theirs(form, sides, me) if ended else (),
        left={person: len(left(form, readings)) for person, readings in sides.items()},
        items=compare(form, list(sides.values())) if ended else (),
        names=staff_names(session, sides),
    )


def _theirs(form: Form, sides: Mapping[str, Sequence[Reading]], me: str) -> Sequence[Reading]:
    """What the other person read, to one of the two and only if both had read everything."""
    if me not in sides or any(left(form, readings) for readings in sides.values()):
        return ()
    return [reading for person, readings in sides.items() if person != me for reading in readings]
