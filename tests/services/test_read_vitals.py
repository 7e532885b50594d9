"""How the board itself does: what waits, what could not be worked out, what came late."""

import pytest
from sqlalchemy import text

from server.services.actor import SYSTEM, Actor
from server.services.errors import Forbidden
from server.services.read_vitals import Vitals, read_vitals
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE


@ON_BOTH_ENGINES
def test_the_figures_of_a_ward_whose_ticks_stand_still(charting: Charting) -> None:
    charting.run()
    charting.tick(12)
    charting.tick(26)  # the first check was due at 25 min
    with charting.store.write() as session:
        session.run(text("UPDATE episode_state SET fault = 'cannot be read'"))

    def looked(minute: float) -> Vitals:
        with charting.store.read() as session:
            return read_vitals(session, ADMINISTRATOR, now=at(minute))

    assert looked(26) == Vitals(0, 0, 0, 1, 2, 660, 0, 0)
    assert looked(31) == Vitals(300, 1, 59, 1, 2, 660, 0, 0)
    assert looked(32).reminders == 0


def test_a_board_that_never_ticked_has_no_age(charting: Charting) -> None:
    with charting.store.read() as session:
        assert read_vitals(session, SYSTEM, now=at(0)).tick_age is None


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER], ids=lambda one: one.id)
def test_who_keeps_no_board_running_is_refused(charting: Charting, actor: Actor) -> None:
    with charting.store.read() as session, pytest.raises(Forbidden):
        read_vitals(session, actor, now=at(0))
