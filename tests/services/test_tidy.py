"""What is kept for a while only goes; what is still of use stays."""

from datetime import timedelta

from sqlalchemy import func, select

from server.services.sign_in import sign_in
from server.services.tidy import ANSWERS_KEPT, tidy
from server.store.idempotency import Answer, find_answer, keep_answer
from server.store.staff import read_staff
from server.store.tables import SESSION
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES

SECOND = timedelta(seconds=1)
OLD = Answer("nurse-1", "key-1", "POST /api/orders", "hash", 201, {"id": "o1"}, at(0))


@ON_BOTH_ENGINES
def test_old_answers_go_and_newer_ones_stay(charting: Charting) -> None:
    with charting.store.write() as session:
        keep_answer(session, OLD)

    with charting.store.write() as session:
        kept = tidy(session, now=at(0) + ANSWERS_KEPT)
        still = find_answer(session, "nurse-1", "key-1")
        gone = tidy(session, now=at(0) + ANSWERS_KEPT + SECOND)
        then = find_answer(session, "nurse-1", "key-1")

    assert (kept, still, gone, then) == (0, OLD, 1, None)


@ON_BOTH_ENGINES
def test_a_session_goes_when_it_is_over(charting: Charting) -> None:
    with charting.store.write() as session:
        nurse = read_staff(session, "nurse-1")
        assert nurse is not None
        ends = sign_in(session, nurse, now=at(0)).expires_at

    counts = []
    for now in (ends - SECOND, ends):
        with charting.store.write() as session:
            tidy(session, now=now)
            counts.append(session.value(select(func.count()).select_from(SESSION)))

    assert counts == [1, 0]
