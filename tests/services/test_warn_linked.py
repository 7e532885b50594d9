"""An identity error warns of the ward's other units until the charge nurse has checked them."""

from datetime import datetime

import pytest

from server.domain.errors import Refused
from server.domain.payloads import (
    Issued,
    ReactionStep,
    Started,
    Warned,
    WarningChecked,
)
from server.domain.words import Component, Kind, Recheck
from server.services.actor import Actor
from server.services.errors import Forbidden
from server.services.live_board import LiveBoard
from server.services.read_episode import read_episode
from server.services.read_linked import LinkedUnit, read_linked
from tests.domain.builders import at
from tests.services.charting import BEFORE_START, Charting, reason_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    PROGRAM,
)
from tests.services.reaction import SUSPECTED, two_units

WRONG = ReactionStep("recheck_identity", Recheck.WRONG)
AGREES = ReactionStep("recheck_identity", Recheck.AGREES)


def beside(charting: Charting) -> None:
    """Other units: in the next bed, come too early, in another ward, of the same patient."""
    two_units(charting)
    charting.run("next", "p2", bed="5")
    charting.open("early", "p2", bed="6", now=-400)
    charting.issue("early", minute=-100)
    for payload in BEFORE_START:
        charting.record(-95, payload, "early")
    charting.record(-61, Started(60), "early")
    charting.open("waiting", "p2", bed="7")
    charting.open("away", "p9", ward_id="w2", bed="1")
    charting.record(0, Issued(), "away", actor=PROGRAM)
    charting.record(30, SUSPECTED)


def warned(charting: Charting, minute: float = 40) -> dict[str, list[datetime]]:
    found = {}
    for episode_id in ("e1", "e2", "next", "early", "waiting", "away"):
        with charting.store.read() as session:
            read = read_episode(session, PROGRAM, episode_id, now=at(minute))
        found[episode_id] = [one.at for one in read.picture.episode.warnings]
    return {one: instants for one, instants in found.items() if instants}


@ON_BOTH_ENGINES
def test_a_wrong_identity_warns_of_the_wards_other_units(charting: Charting) -> None:
    beside(charting)

    charting.record(33, WRONG)

    assert warned(charting) == {"next": [at(33)]}
    assert reason_of(charting.board(34), "next").startswith(
        "Phone the laboratory at once: identity error in bed 4. "
    )
    last = charting.episode(35, "next").events[-1]
    assert (last.kind, last.payload, last.recorded_by, last.recorded_at) == (
        Kind.WARNED,
        Warned("e1", "4", "G0999"),
        "system",
        at(33),
    )
    assert charting.rebuild(36).differed == ()


@pytest.mark.parametrize("step", [AGREES, ReactionStep("recheck_identity"), ReactionStep("stop")])
def test_any_other_step_warns_of_nothing(charting: Charting, step: ReactionStep) -> None:
    beside(charting)

    charting.record(33, step)

    assert warned(charting) == {}


def test_the_same_error_found_again_warns_again_only_after_a_check(charting: Charting) -> None:
    beside(charting)
    charting.record(33, WRONG)
    charting.record(34, WRONG)
    assert warned(charting) == {"next": [at(33)]}

    charting.record(35, WarningChecked("right unit"), "next", actor=CHARGE)
    charting.record(36, WRONG)

    assert warned(charting) == {"next": [at(33), at(36)]}


def test_the_warned_board_in_memory(charting: Charting) -> None:
    beside(charting)
    board = LiveBoard("w1")
    board.board(charting.store, at(32))

    charting.record(33, WRONG)
    board.mark_changed()

    told = reason_of(board.board(charting.store, at(33)), "next")
    assert told.startswith("Phone the laboratory at once: ")


def test_the_charge_nurse_marks_the_warning_as_checked(charting: Charting) -> None:
    beside(charting)
    charting.record(33, WRONG)
    checked = WarningChecked("band, bag and form agree")

    for actor in (NURSE, MANAGER, ADMINISTRATOR, PROGRAM, OUTSIDE_CHARGE):
        with pytest.raises(Forbidden):
            charting.record(35, checked, "next", actor=actor)
    charting.record(36, checked, "next", actor=CHARGE)

    assert not reason_of(charting.board(37), "next").startswith("Phone")
    with pytest.raises(Refused, match="there is no open warning on this unit"):
        charting.record(38, checked, "next", actor=CHARGE)


def test_who_was_warned_is_listed_with_who_was_checked(charting: Charting) -> None:
    beside(charting)
    charting.record(33, WRONG)

    def listed(actor: Actor = NURSE) -> tuple[LinkedUnit, ...]:
        with charting.store.read() as session:
            return read_linked(session, actor, "w1", "e1", now=at(40))

    assert listed() == (LinkedUnit("next", "5", Component.RED_CELLS, None, None),)
    charting.record(36, WarningChecked("agrees"), "next", actor=CHARGE)
    assert [unit.checked_at for unit in listed()] == [at(36)]
    with pytest.raises(Forbidden):
        listed(OUTSIDER)
