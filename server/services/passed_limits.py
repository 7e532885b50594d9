"""Which limits passed unmet or were met late: from the derived rows, or of units looked at."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from server.domain.breach_list import Passed
from server.domain.breaches import Breach
from server.domain.errors import Invalid
from server.domain.picture import Picture
from server.services.sound_cases import sound_pictures
from server.store.breach_rows import passed_between
from server.store.due import episodes_unseen
from server.store.sessions import ReadSession

FIRST: Final = datetime(1, 1, 1, tzinfo=UTC)
LAST: Final = datetime(9999, 12, 31, tzinfo=UTC)
LONGEST: Final = timedelta(days=366)


@dataclass(frozen=True, slots=True)
class Period:
    """From `from_at` on, until just before `until`."""

    from_at: datetime = FIRST
    until: datetime = LAST

    def holds(self, instant: datetime) -> bool:
        """Whether an instant lies in it."""
        return self.from_at <= instant < self.until


EVER: Final = Period()
Periods = Mapping[str, Period]
"""One period for each ward, by ward id: a day begins on each by its own clock."""


def require_a_year_at_most(period: Period) -> None:
    """Raise `Invalid` unless it is a period of at most a year."""
    if period.until <= period.from_at:
        raise Invalid("to", "is not after from; expected a later instant")
    if period.until - period.from_at > LONGEST:
        raise Invalid("to", f"makes more than {LONGEST.days} days; expected at most as many")


def span_of(periods: Periods) -> Period:
    """Answer what all the periods lie in."""
    asked = periods.values()
    return Period(min(one.from_at for one in asked), max(one.until for one in asked))


def passed_limits(session: ReadSession, periods: Periods, *, now: datetime) -> list[Passed]:
    """Answer what was not kept by `now` on one ward or more, in no order.

    Read from the derived rows. Units that no tick has looked at since something changed by time
    alone are worked out here; elsewhere a row says all, however late it is by now.
    """
    asked, unseen = span_of(periods), set(episodes_unseen(session, periods, now))
    stored = passed_between(session, periods, asked.from_at, asked.until)
    looked = sound_pictures(session, unseen, now=now)
    known = (one for one in stored if one.episode_id not in unseen)
    return [
        *(one for one in known if periods[one.ward_id].holds(one.limit_at)),
        *passed_of(looked.values(), periods),
    ]


def passed_of(looked: Iterable[Picture], periods: Periods) -> list[Passed]:
    """Answer what was not kept of units that were looked at, in no order."""
    return [
        _passed(one, breach)
        for one in looked
        for breach in one.breaches
        if periods[one.case.request.ward_id].holds(breach.limit_at)
    ]


def _passed(looked: Picture, breach: Breach) -> Passed:
    request = looked.case.request
    return Passed(
        episode_id=request.id,
        ward_id=request.ward_id,
        clock=breach.clock,
        n=breach.n,
        limit_at=breach.limit_at,
        met_at=breach.met_at,
        state=breach.state,
        component=request.component,
        nurse_id=looked.episode.nurse_at(breach.limit_at),
        cause=breach.cause,
    )
