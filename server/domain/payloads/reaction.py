"""A suspected reaction, and the warning of an identity error that may concern others."""

from dataclasses import dataclass
from typing import Final

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text, require_texts
from server.domain.words import Recheck

RECHECK_IDENTITY: Final = "recheck_identity"


@dataclass(frozen=True, slots=True)
class ReactionSuspected:
    """Somebody suspects a reaction; a symptom is a known word or a text of one's own."""

    symptoms: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require_texts("symptoms", self.symptoms)


@dataclass(frozen=True, slots=True)
class ReactionStep:
    """One step of the local procedure was done: a known word ticks it, another text is a note.

    `result` is what checking identity again found, and belongs to that step alone.
    """

    step: str
    result: Recheck | None = None

    def __post_init__(self) -> None:
        require_text("step", self.step, limits.SHORT_TEXT)
        if self.result is not None and self.step != RECHECK_IDENTITY:
            raise Invalid("result", f"belongs to the step {RECHECK_IDENTITY}; expected none")


@dataclass(frozen=True, slots=True)
class ReactionClosed:
    """The suspicion was closed with an outcome."""

    outcome: str
    classification: str | None = None

    def __post_init__(self) -> None:
        require_text("outcome", self.outcome)
        require_text("classification", self.classification, limits.SHORT_TEXT)


@dataclass(frozen=True, slots=True)
class Warned:
    """The board warned of an identity error that was found at `bed` with unit `episode_id`."""

    episode_id: str
    bed: str
    unit_number: str | None = None

    def __post_init__(self) -> None:
        require_text("episode_id", self.episode_id, limits.SHORT_TEXT)
        require_text("bed", self.bed, limits.SHORT_TEXT)
        require_text("unit_number", self.unit_number, limits.SHORT_TEXT)


@dataclass(frozen=True, slots=True)
class WarningChecked:
    """Whoever is in charge has checked this unit and its patient against the warning."""

    text: str

    def __post_init__(self) -> None:
        require_text("text", self.text)
