"""A stored fact that nobody can read, written past the program: all other units go on.

The figures that were measured are printed.
"""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any, Final

from server.clock import utc_now
from tests.faults.asking import (
    get,
    look_at_board,
    post_note,
    say,
    signed_in,
    until_normal,
    wait_for,
)
from tests.faults.programs import Running, Served, check_program, ending
from tests.faults.small_ward import WARD, SmallWard, make_small_ward

UNITS: Final = 12
SPOILT: Final = "e2"
WORDS: Final = "Bed 3 cannot be worked out"
POISON: Final = (
    "DROP TRIGGER IF EXISTS event_no_update",
    """UPDATE event SET payload = '{"colour": 1}' WHERE episode_id = 'e2' AND kind = 'started'""",
    # So that its turn is now, not in some minutes.
    "UPDATE episode_state SET next_change_at = recorded_at WHERE episode_id = 'e2'",
)


def test_a_unit_that_cannot_be_read_is_named_and_hides_no_other(tmp_path: Path) -> None:
    ward = make_small_ward(tmp_path / "ward.db", utc_now(), UNITS)
    secret, log = signed_in(ward), tmp_path / "log"
    with ending(Served(ward.database, log)) as served:
        served.wait_until_ready()
        until_normal(served, ward)
        assert WORDS not in look_at_board(served, secret).text
        _run(ward, *POISON)
        _, seconds = wait_for(lambda: WORDS in look_at_board(served, secret).text)
        running = _look(served, ward, secret)
        noted = [post_note(served, ward, f"note-{n}", n) for n in range(4)]
        due = get(served, f"/api/due?ward_id={WARD}", ward)
        until_normal(served, ward)
    with ending(Served(ward.database, log)) as again:
        again.wait_until_ready()
        afresh = _look(again, ward, secret)

    checked = check_program(ward.database)
    say(f"a fact that nobody can read was named on the board after {seconds:.1f} s")
    others = {f"e{number}" for number in range(UNITS)} - {SPOILT}
    for board, page in (running, afresh):
        assert ({row["episode_id"] for row in board["rows"]}, board["spoilt"]) == (
            others,
            [{"episode_id": SPOILT, "bed": "3"}],
        )
        assert WORDS in page
    assert checked.returncode == 1
    assert f"1 unit cannot be worked out: {SPOILT}; {SPOILT}: KeyError in " in checked.stdout
    assert "colour" not in checked.stdout
    assert [one.status for one in noted] == [201, 201, 409, 201]
    assert noted[2].problem == "unreadable-episode"
    assert {one["episode_id"] for one in json.loads(due.text)} == others


def _look(served: Running, ward: SmallWard, secret: str) -> tuple[Any, str]:
    board = get(served, f"/api/board?ward_id={WARD}", ward)
    page = look_at_board(served, secret)
    assert (board.status, page.status) == (200, 200)
    return json.loads(board.text), page.text


def _run(ward: SmallWard, *statements: str) -> None:
    with closing(sqlite3.connect(ward.database)) as connection, connection:
        for statement in statements:
            connection.execute(statement)
