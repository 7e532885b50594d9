"""Facts of the line and the infusion."""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict

from server.api.bodies.facts import Fact
from server.api.fields import Confirmation, DropsPerMl, GivenMl, Line, RateMlH, Text, within
from server.domain import limits


def _site_of_access(schema: dict[str, Any]) -> None:
    """Say in the document what the domain asks for: only access has a site and a gauge."""
    other = {"properties": {"site": {"type": "null"}, "gauge": {"type": "null"}}}
    schema["anyOf"] = [{"properties": {"step": {"const": Confirmation.ACCESS.value}}}, other]


class ConfirmedFact(Fact):
    """A step of the pathway was confirmed; `site` and `gauge` of the cannula with `access` only."""

    model_config = ConfigDict(json_schema_extra=_site_of_access)

    kind: Literal["confirmed"]
    step: Confirmation
    site: Line | None = None
    gauge: Line | None = None


class SpikedFact(Fact):
    """The bag was entered."""

    kind: Literal["spiked"]


class SetHungFact(Fact):
    """A giving set was hung."""

    kind: Literal["set_hung"]
    drops_per_ml: DropsPerMl | None = None


class SetChangedFact(Fact):
    """The giving set was replaced by a new one."""

    kind: Literal["set_changed"]
    drops_per_ml: DropsPerMl | None = None


class FlushedFact(Fact):
    """The line was flushed with 0.9 % saline."""

    kind: Literal["flushed"]
    volume_ml: Annotated[float, within(limits.FLUSH_ML)]


class StartedFact(Fact):
    """The infusion began. `override_reason` says why it began against a refusal."""

    kind: Literal["started"]
    rate_ml_h: RateMlH
    site: Line | None = None
    override_reason: Text | None = None


class RateSetFact(Fact):
    """The rate was changed."""

    kind: Literal["rate_set"]
    rate_ml_h: RateMlH


class VolumeReadFact(Fact):
    """The volume given was read from the pump or the bag."""

    kind: Literal["volume_read"]
    given_ml: GivenMl


class PausedFact(Fact):
    """The infusion was halted for a while."""

    kind: Literal["paused"]
    reason: Text | None = None


class ResumedFact(Fact):
    """The infusion went on; without a rate, at the rate before the pause.

    While a reaction is suspected `decided_by` names the clinician who decided it.
    """

    kind: Literal["resumed"]
    rate_ml_h: RateMlH | None = None
    decided_by: Line | None = None


class StoppedFact(Fact):
    """The infusion was ended before the bag was empty."""

    kind: Literal["stopped"]
    reason: Text
    given_ml: GivenMl | None = None


class CompletedFact(Fact):
    """The infusion ended with the bag given."""

    kind: Literal["completed"]
    given_ml: GivenMl | None = None


InfusingFact = (
    ConfirmedFact
    | SpikedFact
    | SetHungFact
    | SetChangedFact
    | FlushedFact
    | StartedFact
    | RateSetFact
    | VolumeReadFact
    | PausedFact
    | ResumedFact
    | StoppedFact
    | CompletedFact
)
