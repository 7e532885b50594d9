"""A replay of a past instant is what somebody who listened saw at that instant."""

from datetime import timedelta
from itertools import chain
from pathlib import Path
from random import Random
from typing import Final

from server.domain.words import Level
from server.services.replay_ward import replay_ward
from tests.domain.builders import BASE
from tests.services.charting import Charting
from tests.services.listening import Listener, seen, shown_by
from tests.services.people import CHARGE, MANAGER
from tests.services.random_files import fresh_stores
from tests.services.told_week import ACTS, DAYS, END, Week

INSTANTS: Final = 150
"""Random seconds of the week; `python -m tests.benchmarks replayed_week` asks a thousand."""


def test_random_instants_of_a_week_are_replayed_as_they_were_seen(
    sqlite_wards: Path, tmp_path: Path
) -> None:
    seconds = Random(5).sample(range(DAYS * 86_400), INSTANTS)  # noqa: S311 - repeated by seed
    wanted = [BASE + timedelta(seconds=one) for one in sorted(seconds, reverse=True)]
    with fresh_stores(sqlite_wards, tmp_path / "week.db") as (store,):
        charting = Charting(store)
        week, listener = Week(charting, seed=11, minutes=35), Listener(store, "w1", CHARGE)
        for now in chain(week, (END,)):
            while wanted and wanted[-1] < now:
                charting.tick(wanted[-1])
                listener.note(wanted.pop())
            listener.follow(now)

        with store.read() as session:
            replays = {at: replay_ward(session, MANAGER, "w1", at=at) for at in listener.heard}
            shown = {at: shown_by(session, replays[at], CHARGE.id) for at in replays}

    heard = listener.heard
    wrong = [at for at in heard if seen(shown[at], heard[at]) != seen(heard[at], heard[at])]
    assert wrong == []
    assert len(heard) == INSTANTS
    # What makes it hard was there: everything that can be done, all levels, lists, hindsight.
    assert set(week.done) == set(ACTS)
    seen_levels = {level for one in heard.values() for level, n in one.board.counts.items() if n}
    assert len(seen_levels) >= len(Level) - 1
    assert any(one.said for one in heard.values())
    assert any(one.mine["units"] for one in heard.values())
    assert any(one.mine["called"] for one in heard.values())
    assert any(one.mine["covers"] for one in heard.values())
    changed = [at for at, one in replays.items() if one.then.board.rows != one.now.board.rows]
    assert len(changed) > INSTANTS // 10
