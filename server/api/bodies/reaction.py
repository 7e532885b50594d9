"""Facts of a suspected reaction, and of a warning that came from the next bed."""

from typing import Literal

from server.api.bodies.facts import Fact
from server.api.fields import Line, Lines, Recheck, Ref, Text


class ReactionSuspectedFact(Fact):
    """Somebody suspects a reaction."""

    kind: Literal["reaction_suspected"]
    symptoms: Lines


class ReactionStepFact(Fact):
    """One step of the local reaction procedure was done.

    A step that the policy knows by that word is ticked; any other text is kept as a note.
    `result` belongs to `recheck_identity`; a wrong unit or patient warns the ward's other units.
    """

    kind: Literal["reaction_step"]
    step: Line
    result: Recheck | None = None


class ReactionClosedFact(Fact):
    """The suspicion was closed with an outcome."""

    kind: Literal["reaction_closed"]
    outcome: Text
    classification: Line | None = None


class WarnedFact(Fact):
    """The unit was warned of an identity error found in another bed."""

    kind: Literal["warned"]
    episode_id: Ref
    bed: Line
    unit_number: Line | None = None


class WarningCheckedFact(Fact):
    """The unit and its patient were checked against the warnings; the charge nurse's to say."""

    kind: Literal["warning_checked"]
    text: Text


ReactionFact = (
    ReactionSuspectedFact | ReactionStepFact | ReactionClosedFact | WarnedFact | WarningCheckedFact
)
