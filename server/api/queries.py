"""What can be asked for in an address."""

from typing import Annotated, Final

from fastapi import Path
from pydantic import Field

from server.api.fields import (
    LAST_REVISION,
    LINE_PATTERN,
    SHIFT_PATTERN,
    Asked,
    ClockName,
    Component,
    Ref,
    Revision,
)
from server.api.instants import QueryInstant
from server.domain import limits
from server.domain.audit import AuditAct
from server.domain.breach_list import Wanted
from server.domain.review.periods import By
from server.domain.workload.period import Period as Span
from server.services.passed_limits import FIRST, LAST, Period
from server.services.read_audit import PAGE
from server.services.review_rates import Asked as AskedRates
from server.store.audit_search import AuditQuery

PathId = Annotated[str, Path(pattern=LINE_PATTERN, max_length=limits.SHORT_TEXT, alias="id")]
PathNumber = Annotated[int, Path(ge=1, le=100_000)]
MOST_ROWS: Final = 1_000
LONGEST_AHEAD: Final = 7 * 24 * 60


class AsOf(Asked):
    """As of an instant, and as was known at another; without them now, with all that is known."""

    at: QueryInstant | None = None
    known_at: QueryInstant | None = None


class OfWard(Asked):
    """Of one ward."""

    ward_id: Ref


class BoardQuery(AsOf, OfWard):
    """A board."""


class DueQuery(BoardQuery):
    """What is owed, by whom, and how soon."""

    nurse_id: Ref | None = None
    within_minutes: Annotated[int, Field(ge=0, le=LONGEST_AHEAD)] | None = None


class RemindersQuery(OfWard):
    """The reminders raised at or after `since`."""

    since: QueryInstant | None = None
    at: QueryInstant | None = None


class LoadQuery(OfWard):
    """The reminders raised from `from` until before `to`."""

    from_at: Annotated[QueryInstant, Field(alias="from")]
    to_at: Annotated[QueryInstant, Field(alias="to")]

    @property
    def period(self) -> Period:
        """The period asked for."""
        return Period(self.from_at, self.to_at)


class BreachesQuery(BoardQuery):
    """The breaches whose limit lies from `from` until before `to`, all or some of them.

    `weekday` (from Monday, 1), `hour`, `night` and `shift` are those of the limit on the ward's
    clock. A shift is that of the unit's nurse, by its hours: `07:00-19:30`, or `none`.
    """

    from_at: Annotated[QueryInstant | None, Field(alias="from")] = None
    to_at: Annotated[QueryInstant | None, Field(alias="to")] = None
    clock: ClockName | None = None
    component: Component | None = None
    shift: Annotated[str, Field(pattern=SHIFT_PATTERN)] | None = None
    weekday: Annotated[int, Field(ge=1, le=7)] | None = None
    hour: Annotated[int, Field(ge=0, le=23)] | None = None
    night: bool | None = None
    explained: bool | None = None

    @property
    def wanted(self) -> Wanted:
        """What of it is asked for."""
        return Wanted(**{name: getattr(self, name) for name in Wanted.__match_args__})

    @property
    def period(self) -> Period:
        """The period asked for, without end where none is given."""
        return Period(self.from_at or FIRST, self.to_at or LAST)


class ReviewQuery(BoardQuery):
    """The limits that lie from `from` until before `to`, of one component or of all.

    `by` cuts the period into the days, weeks from Monday or months of the ward.
    """

    from_at: Annotated[QueryInstant, Field(alias="from")]
    to_at: Annotated[QueryInstant, Field(alias="to")]
    by: By | None = None
    component: Component | None = None

    @property
    def asked(self) -> AskedRates:
        """What is asked for."""
        period = Span(self.from_at, self.to_at)
        return AskedRates(period, self.by, self.component, self.at, self.known_at)


class StreamQuery(OfWard):
    """A stream from a revision on."""

    since: Revision | None = None


class StaffQuery(Asked):
    """The staff of a ward, or of all wards that are the caller's."""

    ward_id: Ref | None = None


class ShiftsQuery(OfWard):
    """The shifts that overlap a period."""

    from_at: Annotated[QueryInstant, Field(alias="from")]
    to_at: Annotated[QueryInstant, Field(alias="to")]


class WorkloadQuery(OfWard):
    """The work from `from` until `to`, by default from now to the policy's horizon."""

    from_at: Annotated[QueryInstant | None, Field(alias="from")] = None
    to_at: Annotated[QueryInstant | None, Field(alias="to")] = None
    slot_minutes: Annotated[int, Field(ge=5, le=240)] = 15


class AuditAsked(Asked):
    """Rows of the audit trail from `from` until before `to`; `before` asks on from a row."""

    ward_id: Ref | None = None
    actor_id: Ref | None = None
    patient_id: Ref | None = None
    act: AuditAct | None = None
    from_at: Annotated[QueryInstant | None, Field(alias="from")] = None
    to_at: Annotated[QueryInstant | None, Field(alias="to")] = None
    before: Annotated[int | None, Field(ge=1, le=LAST_REVISION)] = None
    limit: Annotated[int, Field(ge=1, le=MOST_ROWS)] = PAGE

    @property
    def wanted(self) -> AuditQuery:
        """The question as the trail takes it."""
        return AuditQuery(
            actor_id=self.actor_id,
            patient_ids=None if self.patient_id is None else (self.patient_id,),
            ward_id=self.ward_id,
            act=self.act,
            from_at=self.from_at,
            to_at=self.to_at,
            before=self.before,
        )
