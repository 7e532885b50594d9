"""Whoever came first writes first."""

from threading import Event, Thread
from time import sleep

import pytest

from server.store.errors import Away
from server.store.fair_lock import FairLock


def test_turns_come_in_the_order_of_asking() -> None:
    lock, served = FairLock(), list[int]()
    threads = [Thread(target=_take_a_turn, args=(lock, number, served)) for number in range(6)]

    with lock.turn(5):
        for place, thread in enumerate(threads, 1):
            thread.start()
            _until_waiting(lock, place)
    for thread in threads:
        thread.join()

    assert served == [0, 1, 2, 3, 4, 5]


def test_who_gets_no_turn_in_time_is_told_so_and_blocks_nobody() -> None:
    lock = FairLock()

    with lock.turn(5), pytest.raises(Away, match=r"no turn to write within 0\.01 s"):
        _take(lock, 0.01)

    assert _take(lock, 0.01) == "taken"


def test_a_turn_is_passed_on_when_its_holder_fails() -> None:
    lock = FairLock()

    with pytest.raises(ZeroDivisionError), lock.turn(5):
        _ = 1 / 0

    assert _take(lock, 0.01) == "taken"


def test_a_turn_that_comes_at_the_last_moment_is_taken() -> None:
    lock, turn = FairLock(), Event()
    turn.set()

    assert lock._give_up(turn)


def test_another_thread_may_end_a_turn() -> None:
    lock = FairLock()
    turn = lock.turn(5)
    turn.__enter__()

    ending = Thread(target=turn.__exit__, args=(None, None, None))
    ending.start()
    ending.join()

    assert _take(lock, 0.01) == "taken"


def _take(lock: FairLock, patience_seconds: float) -> str:
    with lock.turn(patience_seconds):
        return "taken"


def _take_a_turn(lock: FairLock, number: int, served: list[int]) -> None:
    with lock.turn(5):
        served.append(number)


def _until_waiting(lock: FairLock, places: int) -> None:
    while len(lock._waiting) < places:
        sleep(0.001)
