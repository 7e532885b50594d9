"""The rates of a ward, as answered: numbers of limits by clock, and nobody's name."""

from collections.abc import Mapping

from server.api.answers.numbers import fraction
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.review.periods import By
from server.domain.review.rates import Tally
from server.domain.words import ClockName, Component
from server.services.review_rates import Rates, WardRates


class RateAnswer(Given):
    """`owed` is `met` in time, `late` and `missed` together; `rate` the fraction met of it.

    `low` and `high` are Wilson's 95 % interval. All three are null where nothing was owed.
    """

    owed: int
    met: int
    late: int
    missed: int
    rate: float | None
    low: float | None
    high: float | None


class PeriodRatesAnswer(Given):
    """The rates of the limits that lie from `from_at` until before `to_at`, by clock."""

    from_at: Moment
    to_at: Moment
    clocks: dict[ClockName, RateAnswer]


class ReviewAnswer(PeriodRatesAnswer):
    """A ward's period, of one component or of all, and the parts it was cut into `by`.

    `periods` is empty where it was not cut. Days, weeks from Monday and months are the ward's.
    """

    ward_id: str
    component: Component | None
    by: By | None
    periods: list[PeriodRatesAnswer]


def review_answer(found: WardRates, component: Component | None) -> ReviewAnswer:
    """The rates of a ward."""
    whole = found.whole
    return ReviewAnswer(
        ward_id=found.ward_id,
        component=component,
        by=found.by,
        from_at=whole.period.from_at,
        to_at=whole.period.until_at,
        clocks=_clocks(whole.tallies),
        periods=[_part(one) for one in found.parts],
    )


def _part(rates: Rates) -> PeriodRatesAnswer:
    return PeriodRatesAnswer(
        from_at=rates.period.from_at,
        to_at=rates.period.until_at,
        clocks=_clocks(rates.tallies),
    )


def _clocks(tallies: Mapping[ClockName, Tally]) -> dict[ClockName, RateAnswer]:
    return {clock: _rate(tally) for clock, tally in tallies.items()}


def _rate(tally: Tally) -> RateAnswer:
    interval = tally.interval
    return RateAnswer(
        owed=tally.owed,
        met=tally.met,
        late=tally.late,
        missed=tally.missed,
        rate=fraction(tally.rate),
        low=None if interval is None else fraction(interval.low),
        high=None if interval is None else fraction(interval.high),
    )
