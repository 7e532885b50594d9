"""The line and the infusion: set, start, rate, pauses and the end."""

from dataclasses import dataclass

from server.domain import limits
from server.domain.payloads.values import require_text, require_within


@dataclass(frozen=True, slots=True)
class Spiked:
    """The bag was entered."""


@dataclass(frozen=True, slots=True)
class SetHung:
    """A giving set was hung; `drops_per_ml` as its pack says, None: the usual one of the policy."""

    drops_per_ml: int | None = None

    def __post_init__(self) -> None:
        require_within("drops_per_ml", self.drops_per_ml, limits.DROPS_PER_ML)


@dataclass(frozen=True, slots=True)
class SetChanged:
    """The giving set was replaced by a new one, of which `drops_per_ml` says as of one hung."""

    drops_per_ml: int | None = None

    def __post_init__(self) -> None:
        require_within("drops_per_ml", self.drops_per_ml, limits.DROPS_PER_ML)


@dataclass(frozen=True, slots=True)
class Flushed:
    """The line was flushed with 0.9 % saline."""

    volume_ml: float

    def __post_init__(self) -> None:
        require_within("volume_ml", self.volume_ml, limits.FLUSH_ML)


@dataclass(frozen=True, slots=True)
class Started:
    """The infusion began. `override_reason` says why it began against a refusal."""

    rate_ml_h: float
    site: str | None = None
    override_reason: str | None = None

    def __post_init__(self) -> None:
        require_within("rate_ml_h", self.rate_ml_h, limits.RATE_ML_H)
        require_text("site", self.site, limits.SHORT_TEXT)
        require_text("override_reason", self.override_reason)


@dataclass(frozen=True, slots=True)
class RateSet:
    """The rate was changed."""

    rate_ml_h: float

    def __post_init__(self) -> None:
        require_within("rate_ml_h", self.rate_ml_h, limits.RATE_ML_H)


@dataclass(frozen=True, slots=True)
class VolumeRead:
    """The volume given was read from the pump or the bag."""

    given_ml: float

    def __post_init__(self) -> None:
        require_within("given_ml", self.given_ml, limits.GIVEN_ML)


@dataclass(frozen=True, slots=True)
class Paused:
    """The infusion was halted for a while."""

    reason: str | None = None

    def __post_init__(self) -> None:
        require_text("reason", self.reason)


@dataclass(frozen=True, slots=True)
class Resumed:
    """The infusion went on; without a rate, at the rate before the pause.

    `decided_by` names the clinician who decided it while a reaction is suspected.
    """

    rate_ml_h: float | None = None
    decided_by: str | None = None

    def __post_init__(self) -> None:
        require_within("rate_ml_h", self.rate_ml_h, limits.RATE_ML_H)
        require_text("decided_by", self.decided_by, limits.SHORT_TEXT)


@dataclass(frozen=True, slots=True)
class Stopped:
    """The infusion was ended before the bag was empty."""

    reason: str
    given_ml: float | None = None

    def __post_init__(self) -> None:
        require_text("reason", self.reason)
        require_within("given_ml", self.given_ml, limits.GIVEN_ML)


@dataclass(frozen=True, slots=True)
class Completed:
    """The infusion ended with the bag given."""

    given_ml: float | None = None

    def __post_init__(self) -> None:
        require_within("given_ml", self.given_ml, limits.GIVEN_ML)
