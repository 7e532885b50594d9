"""More at once than the ward, the porters or the blood bank can do."""

from typing import Any

from server.domain.plan.consequences import consequences
from server.domain.plan.proposal import Rule
from server.domain.workload.capacity import WardRules
from server.domain.workload.task import Work
from tests.domain.small_wards import a_nurse, a_start, a_task, a_unit, a_ward

FIRST, SECOND = a_unit("unit 1"), a_unit("unit 2")
NURSES = tuple(a_nurse(name) for name in ("ana", "bo", "cy", "di"))


def crowd(rules: WardRules, *tasks: Any, second: float = 30) -> list[tuple[Rule, str, bool]]:
    """What two starts break, at 10:20 and ten minutes later, by four people."""
    ward = a_ward(FIRST, SECOND, nurses=NURSES, rules=rules, tasks=tasks)
    starts = [a_start(FIRST, 20), a_start(SECOND, second, "cy", "di")]
    return [(one.rule, one.words, one.is_hard) for one in consequences(ward, starts)]


def test_more_at_once_than_the_ward_allows_is_told_with_the_beds() -> None:
    watched = a_task("unit 9", Work.WATCH, 25, 10, staff_id="eve")

    assert crowd(WardRules(most_starts=1)) == [
        (
            Rule.MOST_STARTS,
            "10:30–10:45: 2 units in their check and watched beginning, 1 allowed (bed 1; bed 2)",
            True,
        )
    ]
    assert crowd(WardRules(most_starts=1), second=45) == []
    assert crowd(WardRules(most_starts=2)) == []
    assert crowd(WardRules(most_starts=2), watched) == [
        (
            Rule.MOST_STARTS,
            "10:30–10:35: 3 units in their check and watched beginning, 2 allowed (bed 1; bed 2)",
            True,
        )
    ]


def test_porters_and_the_blood_bank_can_do_so_much_at_once() -> None:
    assert crowd(WardRules(porters=1)) == [
        (
            Rule.PORTERS,
            "10:10–10:20: 2 collections under way, 1 allowed (bed 1; bed 2)",
            True,
        )
    ]
    assert crowd(WardRules(porters=1), second=40) == []
    assert crowd(WardRules(issues_per_quarter=1), second=25) == [
        (
            Rule.BLOOD_BANK,
            (
                "10:00–10:15: 2 units from the blood bank, 1 allowed in a quarter of an hour"
                " (bed 1; bed 2)"
            ),
            True,
        )
    ]
    assert crowd(WardRules(issues_per_quarter=1), second=30) == []


def test_a_unit_that_is_issued_already_needs_no_porter() -> None:
    here = a_unit("unit 1", is_issued=True)
    ward = a_ward(here, rules=WardRules(porters=0, issues_per_quarter=0))

    assert consequences(ward, [a_start(here, 20)]) == ()
