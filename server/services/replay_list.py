"""The list of one nurse on a ward as it stood at an instant, as it was known then and as now."""

from collections.abc import Iterable

from server.domain.cover import Cover, known_covers
from server.services.enter_shift import LONGEST
from server.services.errors import NotFound
from server.services.list_called import calls_among
from server.services.list_mine import Mine, mine_of, whose_units
from server.services.nurses import NURSES, is_nurse_of
from server.services.replay_ward import Replay, View
from server.store.covers import covers_between
from server.store.sessions import ReadSession
from server.store.staff import Staff, read_staff


def replay_list(session: ReadSession, replay: Replay, nurse_id: str) -> tuple[Mine, Mine]:
    """Answer the list as it was known then, and as it is known now.

    Whoever may read the ward may see it. Whom an escalation called is worked out from the plan of
    shifts as it stands now: what it was before a change is not kept. Raises `NotFound` for nobody
    of this ward.
    """
    nurse, at = _nurse(session, replay, nurse_id), replay.at
    covers = covers_between(session, [replay.now.board.ward.id], at, at + LONGEST)
    known = known_covers(covers, replay.known_at)
    return (
        _list(session, nurse, replay.then, known),
        _list(session, nurse, replay.now, covers),
    )


def _nurse(session: ReadSession, replay: Replay, nurse_id: str) -> Staff:
    nurse = read_staff(session, nurse_id)
    if nurse is None or nurse.role not in NURSES:
        raise NotFound("the nurse")
    if not is_nurse_of(nurse, replay.now.board.ward.id) and nurse.id not in _at_work(replay):
        raise NotFound("the nurse")
    return nurse


def _at_work(replay: Replay) -> set[str | None]:
    """Who had units on the ward, whether or not they still work on it."""
    rows = (*replay.then.board.rows, *replay.now.board.rows)
    return {row.picture.episode.nurse_id for row in rows}


def _list(session: ReadSession, nurse: Staff, view: View, covers: Iterable[Cover]) -> Mine:
    at, ward, listed = view.board.at, view.board.ward, tuple(covers)
    looked = list(view.pictures.values())
    answered = whose_units(nurse, [ward.id], listed, at)[ward.id]
    own = [unit for unit, one in view.pictures.items() if one.episode.nurse_id in answered]
    raised = calls_among(nurse, view.raised, own, at)
    return mine_of(session, nurse, {ward.id: ward}, listed, looked, raised, now=at)
