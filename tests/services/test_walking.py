"""Walks over the units and the log: how far each goes in a minute, and that it comes by all."""

from datetime import timedelta
from typing import Any

from sqlalchemy import text

from server.services.look_at_invariants import EVERY
from server.services.walk_units import Suspects, walk_units
from server.services.walking import (
    PIECE,
    LogPlace,
    UnitsPlace,
    step_log,
    step_units,
    walk_all_units,
    walk_whole_log,
)
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.poison import write_past


def test_a_walk_comes_by_every_unit_and_goes_back_to_what_was_wrong(charting: Charting) -> None:
    """Of 201 units of the past, 50 a minute, and three on the board."""
    for number in range(201):
        charting.open(f"f{number:03}")
    ids = "(SELECT episode_id FROM episode_state WHERE episode_id > 'f002')"
    write_past(charting.store, "UPDATE episode_state SET open_until = '2026-03-03T09:00:00Z' "  # noqa: S608
         f"WHERE episode_id IN {ids}")  # fmt: skip
    place, seen = UnitsPlace(), []
    for _ in range(6):
        with charting.store.read() as session:
            place = step_units(session, UnitsPlace.read(place.told()), now=at(0))
        seen.append((place.live, place.all, len(place.suspects.differing)))

    whole = walk_all_units(charting.store, lambda: at(0))
    assert seen == [
        ("", "f049", 47),
        ("", "f099", 97),
        ("", "f149", 147),
        ("", "f199", 197),
        ("", "", 198),
        ("", "f049", 198),
    ]
    assert (len(whole.suspects.differing), whole.units, whole.on_boards) == (198, 201, 3)


def test_a_unit_that_changes_while_a_walk_is_under_way_is_no_suspect(charting: Charting) -> None:
    """Judged as of the walk's beginning, a tick that came by since would look like a fault."""
    charting.run()
    charting.tick(60)
    times = iter((at(11), at(60)))

    whole = walk_all_units(charting.store, lambda: next(times))

    with charting.store.read() as session:
        as_of_its_beginning = walk_units(session, ["e1"], now=at(11))
    assert (whole.suspects, as_of_its_beginning) == (Suspects(), Suspects(differing=("e1",)))


def test_a_walk_over_the_log_begins_anew_though_facts_keep_coming(charting: Charting) -> None:
    charting.run()
    write_past(charting.store, "DELETE FROM event WHERE position = 3")
    with charting.store.read() as session:
        once = step_log(session, LogPlace())
        again = step_log(session, LogPlace.read(once.told()))
        whole = walk_whole_log(session)
        last = session.value(text("SELECT max(position) FROM event"))

    assert (once, again, whole) == (LogPlace(0, last, ((0, 1),)),) * 3
    assert (once.missing, last < PIECE, EVERY) == (1, True, timedelta(minutes=1))


def test_what_another_version_kept_of_a_walk_begins_it_anew() -> None:
    others: tuple[Any, ...] = (
        None,
        {"place": 3, "gaps": [[0, 9, 1]]},
        {"suspects": {"lost": []}},
        {"gaps": []},
    )

    assert {UnitsPlace.read(one) for one in others} == {UnitsPlace()}
    assert {LogPlace.read(one) for one in others} == {LogPlace()}
