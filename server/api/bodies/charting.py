"""Facts about the record itself: who has it, remarks, causes and corrections."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.bodies.facts import Fact
from server.api.fields import WHOLE, ClockName, Line, Ref, Text

LAST_N = 100_000  # more checks than any unit can owe


class AssignedFact(Fact):
    """A nurse took the episode."""

    kind: Literal["assigned"]
    nurse_id: Ref


class AcknowledgedFact(Fact):
    """Somebody said "I have it" of a clock; it never meets the clock."""

    kind: Literal["acknowledged"]
    clock: ClockName
    staff_id: Ref


class NoteFact(Fact):
    """A remark."""

    kind: Literal["note"]
    text: Text


class CauseGivenFact(Fact):
    """The cause of a breach; without `n`, of every breach of that clock so far."""

    kind: Literal["cause_given"]
    clock: ClockName
    cause: Line
    text: Text | None = None
    n: Annotated[int, Field(ge=1, le=LAST_N), WHOLE] | None = None


class VoidedFact(Fact):
    """An earlier event was a mistake; it stays visible and counts as absent."""

    kind: Literal["voided"]
    event_id: Ref
    reason: Text


ChartingFact = AssignedFact | AcknowledgedFact | NoteFact | CauseGivenFact | VoidedFact
