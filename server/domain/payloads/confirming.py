"""A step of the pathway that somebody confirms: one payload for all of them."""

from dataclasses import dataclass

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text
from server.domain.words import Confirmation


@dataclass(frozen=True, slots=True)
class Confirmed:
    """Somebody confirmed a step. `site` and `gauge` say where the cannula is, and its size."""

    step: Confirmation
    site: str | None = None
    gauge: str | None = None

    def __post_init__(self) -> None:
        require_text("site", self.site, limits.SHORT_TEXT)
        require_text("gauge", self.gauge, limits.SHORT_TEXT)
        for field in ("site", "gauge"):
            if getattr(self, field) is not None and self.step is not Confirmation.ACCESS:
                raise Invalid(field, f"does not belong to {self.step}; expected with access only")
