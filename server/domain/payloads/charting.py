"""About the record itself: who has it, remarks, causes and corrections."""

from dataclasses import dataclass

from server.domain import limits
from server.domain.payloads.values import require_text
from server.domain.words import ClockName


@dataclass(frozen=True, slots=True)
class Assigned:
    """A nurse took the episode."""

    nurse_id: str

    def __post_init__(self) -> None:
        require_text("nurse_id", self.nurse_id, limits.SHORT_TEXT)


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """A nurse said "I have it" of a clock that is owed; it never meets the clock."""

    clock: ClockName
    staff_id: str

    def __post_init__(self) -> None:
        require_text("staff_id", self.staff_id, limits.SHORT_TEXT)


@dataclass(frozen=True, slots=True)
class Note:
    """A remark."""

    text: str

    def __post_init__(self) -> None:
        require_text("text", self.text)


@dataclass(frozen=True, slots=True)
class CauseGiven:
    """The cause of a breach; without `n`, of every breach of that clock so far."""

    clock: ClockName
    cause: str
    text: str | None = None
    n: int | None = None

    def __post_init__(self) -> None:
        require_text("cause", self.cause, limits.SHORT_TEXT)
        require_text("text", self.text)


@dataclass(frozen=True, slots=True)
class Voided:
    """An earlier event was a mistake; it stays visible and counts as absent."""

    event_id: str
    reason: str

    def __post_init__(self) -> None:
        require_text("event_id", self.event_id, limits.SHORT_TEXT)
        require_text("reason", self.reason)
