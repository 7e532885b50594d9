"""The clock of the machine is put back an hour and forward a day, while the program runs.

What it reminded of too early it reminds of again when it is owed.

The figures that were measured are printed.
"""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from server.clock import utc_now
from server.services.raise_reminders import key_of
from server.store.heartbeat import last_beat
from server.store.reminders import RaisedReminder, reminders_since
from server.store.states import read_states
from server.store.store import Store
from tests.faults.asking import look_at_board, post_note, say, signed_in, wait_for
from tests.faults.programs import Running, address_of, ending, environment_for
from tests.faults.small_ward import WARD, SmallWard, make_small_ward
from tests.faults.whole import require_whole
from tests.nursery import begin
from tests.ports import free_port

HOUR: Final = timedelta(hours=1)
DAY: Final = timedelta(days=1)
UNITS: Final = 60
ENOUGH: Final = 3
"""So many reminders are waited for: limits of the ward's units pass one after the other."""
WITHIN: Final = timedelta(minutes=1)


def test_a_clock_that_steps_stops_nothing_for_longer_than_it_is_wrong(tmp_path: Path) -> None:
    ward, told = make_small_ward(tmp_path / "ward.db", utc_now(), UNITS), tmp_path / "off"
    secret, store = signed_in(ward), Store(address_of(ward.database))
    told.write_text("0", "utf-8")
    with ending(_serve(ward, told, tmp_path / "log")) as served:
        served.wait_until_ready()
        seconds = [_step(store, told, timedelta())]
        levels = _levels(ward)
        seconds.append(_step(store, told, -HOUR))
        refused = post_note(served, ward, "from-a-right-clock")
        in_the_past = look_at_board(served, secret)
        seconds.append(_step(store, told, timedelta()))
        accepted = post_note(served, ward, "from-a-right-clock")
        seconds.append(_step(store, told, DAY))
        a_day_on = _levels(ward)
        signed_out = look_at_board(served, secret)
        recorded = post_note(served, ward, "a-day-early")
        ahead = _raised(store)
        seconds.append(_step(store, told, timedelta()))
        back_at = utc_now()
        wait_for(lambda: len(_come(store, back_at)) >= ENOUGH)
        come = _come(store, back_at)
        require_whole(ward.database)
    store.close()

    late = max(one.raised_at - one.owed_at for one in come)
    say(f"{len(come)} reminders were owed since it was right, each raised within {late}")
    early = {key_of(one) for one in ahead}
    assert {key_of(one) for one in come} <= early
    assert len({key_of(one) for one in come}) == len(come)
    assert late < WITHIN
    came = ", ".join(f"{one:.1f} s" for one in seconds[1:])
    say(f"clock put back an hour, right, on a day, right: the next tick came after {came}")
    assert (refused.status, accepted.status, recorded.status) == (422, 201, 201)
    assert "happened_at" in refused.text
    assert (in_the_past.status, signed_out.status) == (200, 303)
    assert a_day_on != levels


def _serve(ward: SmallWard, told: Path, log: Path) -> Running:
    port, environment = free_port(), environment_for(ward.database)
    module = "tests.faults.serve_stepped"
    return Running(begin([f"{port}", f"{told}"], environment, log, module=module), port)


def _step(store: Store, told: Path, off: timedelta) -> float:
    """Put the clock; after how many seconds a tick came by it."""
    told.write_text(f"{int(off.total_seconds())}", "utf-8")
    _, seconds = wait_for(lambda: _is_beating(store, off))
    return seconds


def _raised(store: Store) -> list[RaisedReminder]:
    with store.read() as session:
        return list(reminders_since(session, WARD))


def _come(store: Store, since: datetime) -> list[RaisedReminder]:
    """What was owed and raised since an instant; of what had come too early nothing."""
    return [one for one in _raised(store) if one.owed_at > since and not one.is_early]


def _is_beating(store: Store, off: timedelta) -> bool:
    with store.read() as session:
        beat = last_beat(session, "tick")
    return beat is not None and abs(utc_now() + off - beat.at) < timedelta(seconds=4)


def _levels(ward: SmallWard) -> dict[str, dict[str, str]]:
    """The states that are stored of each unit's clocks."""
    store = Store(address_of(ward.database))
    with store.read() as session:
        states = read_states(session, ward.episode_ids)
    store.close()
    return {one: dict(state.states) for one, state in states.items()}
