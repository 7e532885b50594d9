"""The body that asks for a plan."""

from datetime import timedelta
from typing import Annotated

from pydantic import Field

from server.api.fields import WHOLE, Ref, Strict
from server.api.instants import Instant
from server.services.make_plan import LEAST_SECONDS, LONGEST_HOURS, MOST_SECONDS, SECONDS, PlanAsk
from server.services.planning_ground import Asked


class PlanBody(Strict):
    """A plan for a ward from an instant on, made within so many seconds.

    What lies in the past is planned from now on. The answer may take as long as `seconds`.
    """

    ward_id: Ref
    from_at: Annotated[Instant, Field(alias="from")]
    horizon_minutes: Annotated[int, Field(ge=1, le=LONGEST_HOURS * 60), WHOLE]
    seconds: Annotated[float, Field(ge=LEAST_SECONDS, le=MOST_SECONDS)] = SECONDS

    def ask(self) -> PlanAsk:
        """What it asks for."""
        asked = Asked(self.from_at, timedelta(minutes=self.horizon_minutes))
        return PlanAsk(self.ward_id, asked, self.seconds)
