"""The breaches of a period as a sheet: which limit, by how much, of which unit, and why."""

from collections.abc import Iterable
from typing import Final

from server.domain.policy import source_of
from server.domain.wording import CLOCK
from server.domain.words import ClockState
from server.exchange.sheets.common import (
    BED,
    COMPONENT_GIVEN,
    EPISODE,
    PATIENT,
    UNIT_NUMBER,
    Maker,
    patient_cells,
)
from server.exchange.sheets.sheet import Cells, Column, Holds, Shape, Sheet
from server.services.list_breaches import BreachRow

COLUMNS: Final = (
    Column("limit_at", "Limit", Shape.INSTANT, note="When it passed"),
    Column("clock", "Which limit", words={one.value: words for one, words in CLOCK.items()}),
    Column("n", "Number", Shape.NUMBER, note="Of several of one kind in a unit, counted from 1"),
    Column(
        "state",
        "Kept",
        note="Met late; missed: it can no longer be met; overdue: it is not met yet",
        words={
            ClockState.MET_LATE: "met late",
            ClockState.MISSED: "missed",
            ClockState.OVERDUE: "overdue",
        },
    ),
    Column("met_at", "Met", Shape.INSTANT),
    Column(
        "late_minutes",
        "Late by",
        Shape.NUMBER,
        unit="min",
        note="From the limit until it was met or, where it is overdue, until the file was made",
    ),
    Column("cause", "Cause", note="As somebody gave it; empty: nobody has"),
    Column("cause_text", "In their words", holds=Holds.IDENTITY),
    COMPONENT_GIVEN,
    UNIT_NUMBER,
    *PATIENT,
    BED,
    EPISODE,
    Column("rule", "Policy value", note="The name of the value that the limit comes from"),
    Column("source", "Its source", note="As the policy states it that judges the unit"),
    Column("policy", "Policy", note="The policy that judges the unit: the one when it was issued"),
)


def breach_sheet(maker: Maker, found: Iterable[BreachRow], only: tuple[str, ...]) -> Sheet:
    """The sheet of these breaches."""
    about = maker.about("Breaches: limits that were passed unmet, or met late", only)
    return Sheet("breaches", about, COLUMNS, (_row(one) for one in found))


def _row(found: BreachRow) -> Cells:
    looked, breach = found.picture, found.breach
    case, request = looked.case, looked.case.request
    rule = next(
        one.rule for one, _ in looked.clocks if (one.name, one.n) == (breach.clock, breach.n)
    )
    return (
        breach.limit_at,
        breach.clock.value,
        breach.n,
        breach.state.value,
        breach.met_at,
        breach.late_minutes,
        breach.cause,
        breach.cause_text,
        request.component.value,
        looked.episode.unit_number,
        *patient_cells(case.patient),
        request.bed,
        request.id,
        rule,
        source_of(case.policy, rule, request.component),
        f"{case.policy.title}, version {case.policy.version}",
    )
