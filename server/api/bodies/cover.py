"""The body that enters a cover."""

from server.api.fields import Ref, Strict
from server.api.instants import Instant
from server.services.cover import CoverDraft


class CoverBody(Strict):
    """A nurse answers for the units of another on a ward.

    Without instants it is for the planned break of the covered nurse that is on or comes next.
    One that is to begin in the past begins now. `replaces` is the id of a cover that gives way.
    """

    ward_id: Ref
    covering_id: Ref
    covered_id: Ref
    from_at: Instant | None = None
    until_at: Instant | None = None
    replaces: Ref | None = None

    def draft(self) -> CoverDraft:
        """What it asks to enter."""
        return CoverDraft(**self.model_dump())
