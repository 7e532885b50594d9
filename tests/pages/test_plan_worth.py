"""How sure a plan is, in words."""

from dataclasses import replace

import pytest

from server.domain.plan.proposal import Maker, Proposal, Start, Status, Unplaced
from server.pages.plans.worth_view import status_text
from tests.domain.builders import at
from tests.domain.planning import an_empty_plan

START = Start("e1", at(20), at(50), at(60), at(75), at(180), "n1", "n2")
NOTHING = an_empty_plan("a", "w1", at(0)).proposal
LISTED = an_empty_plan("a", "w1", at(0), START).proposal
SOLVED = replace(LISTED, made_by=Maker.SOLVER, gap_percent=12.4)


@pytest.mark.parametrize(
    ("proposal", "words"),
    [
        (NOTHING, "No unit waits, and none is planned"),
        (
            replace(NOTHING, unplaced=(Unplaced("e1", (), "no room"),)),
            "List rule: urgent units first, each at the earliest place",
        ),
        (LISTED, "List rule: urgent units first, each at the earliest place"),
        (replace(LISTED, made_by=Maker.HAND), "Put together by hand"),
        (SOLVED, "Best found, at most 12 % from the best"),
        (replace(SOLVED, gap_percent=None), "Best found in the time"),
        (replace(SOLVED, status=Status.OPTIMAL), "Proven best"),
    ],
)
def test_how_sure_a_plan_is(proposal: Proposal, words: str) -> None:
    assert status_text(proposal) == words
