"""A plan changed by hand: what was said is done, the others stay, movable work is laid anew."""

from server.domain.plan.by_hand import placings_of, put_by_hand
from server.domain.plan.proposal import Maker, Objective, Proposal, Start, Status, Unplaced
from server.domain.plan.suppose import BedMoves, Suppositions, suppose
from server.domain.plan.way import Placing
from tests.domain.builders import at
from tests.domain.test_plan_wishes import PROBLEM

EMPTY = Proposal(
    "w1", at(0), at(480), Maker.LIST_RULE, Status.NONE, Objective(0, 0, 0, 0, 0), None, None, 0.5,
    (), (Unplaced("e1", (), "nobody is trained"),),
)  # fmt: skip
EARLY = Placing(at(60), "n1", "n2")
LATE = Placing(at(120), "n2", "n1")


def _start(episode_id: str, minute: int, nurse_id: str, second_id: str) -> Start:
    return Start(
        episode_id, at(minute - 30), at(minute), at(minute + 10), at(minute + 25),
        at(minute + 130), nurse_id, second_id,
    )  # fmt: skip


def test_a_unit_is_put_where_it_was_said_and_the_others_stay() -> None:
    one = put_by_hand(PROBLEM, EMPTY, "e2", EARLY)
    both = put_by_hand(PROBLEM, one, "e1", LATE)
    moved = put_by_hand(PROBLEM, both, "e2", Placing(at(90), "n1", "n2"))

    assert one.starts == (_start("e2", 60, "n1", "n2"),)
    assert one.unplaced == EMPTY.unplaced
    assert both.starts == (_start("e2", 60, "n1", "n2"), _start("e1", 120, "n2", "n1"))
    assert both.unplaced == ()
    assert moved.starts == (_start("e2", 90, "n1", "n2"), _start("e1", 120, "n2", "n1"))
    assert (moved.made_by, moved.status, moved.bound) == (Maker.HAND, Status.FEASIBLE, None)
    assert moved.objective.comfort > both.objective.comfort


def test_a_unit_taken_out_is_left_out_by_hand() -> None:
    both = put_by_hand(PROBLEM, put_by_hand(PROBLEM, EMPTY, "e2", EARLY), "e1", LATE)

    without = put_by_hand(PROBLEM, both, "e2", None)

    assert without.starts == (_start("e1", 120, "n2", "n1"),)
    assert without.unplaced == (Unplaced("e2", (), "left out by hand"),)
    assert without.objective.unplaced > both.objective.unplaced
    assert placings_of(PROBLEM, without) == {"e1": LATE}


def test_a_unit_that_nobody_took_out_says_that_it_was_never_planned() -> None:
    two = Proposal(
        "w1", at(0), at(480), Maker.LIST_RULE, Status.NONE, Objective(0, 0, 0, 0, 0), None, None,
        0.5, (), (),
    )  # fmt: skip

    without = put_by_hand(PROBLEM, two, "e2", None)

    assert without.unplaced == (
        Unplaced("e1", (), "no start was planned for it"),
        Unplaced("e2", (), "left out by hand"),
    )


def test_a_unit_that_is_planned_no_more_has_no_place() -> None:
    both = put_by_hand(PROBLEM, put_by_hand(PROBLEM, EMPTY, "e2", EARLY), "e1", LATE)
    gone = suppose(PROBLEM, Suppositions(moves=(BedMoves("4", at(0)),)))

    assert placings_of(gone, both) == {"e2": EARLY}
