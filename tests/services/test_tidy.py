"""What is kept for a while only goes; what is still of use stays."""

from datetime import timedelta

from sqlalchemy import func, select

from server.domain.tries import Tries
from server.services.sign_in import sign_in
from server.services.tidy import ANSWERS_KEPT, DEVICES_KNOWN, tidy
from server.store.idempotency import Answer, find_answer, keep_answer
from server.store.staff import read_staff
from server.store.tables import KNOWN_DEVICE, SESSION, SIGN_IN_TRY, UNSENT
from server.store.tries import know_device, save_tries
from server.store.unsent import Unsent, keep_unsent
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES

SECOND = timedelta(seconds=1)
LENGTHS = (timedelta(days=1), DEVICES_KNOWN)
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


@ON_BOTH_ENGINES
def test_tries_devices_and_what_was_left_typed_go_in_their_time(charting: Charting) -> None:
    with charting.store.write() as session:
        save_tries(session, "an account", Tries(3, at(0)))
        know_device(session, "a device", "nurse-1", at(0))
        keep_unsent(session, "nurse-1", Unsent("/mine", (), at(0)))

    kept = []
    for now in (at(0) + length + extra for length in LENGTHS for extra in (timedelta(0), SECOND)):
        with charting.store.write() as session:
            tidy(session, now=now)
            tables = (SIGN_IN_TRY, UNSENT, KNOWN_DEVICE)
            counts = [session.value(select(func.count()).select_from(one)) for one in tables]
        kept.append(counts)

    assert kept == [[1, 1, 1], [0, 0, 1], [0, 0, 1], [0, 0, 0]]
