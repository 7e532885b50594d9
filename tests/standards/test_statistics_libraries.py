"""Statistics of the review against scipy, statsmodels, lifelines and numpy, on made-up numbers."""

from random import Random
from typing import Any, Final

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.utils import qth_survival_time
from scipy.stats import CensoredData, binom, ecdf
from statsmodels.duration.survfunc import SurvfuncRight
from statsmodels.stats.proportion import proportion_confint

from server.domain.review.funnel import funnel_limits
from server.domain.review.proportion import wilson
from server.domain.review.quantiles import quantile
from server.domain.review.survival import Curve, Ended, kaplan_meier

SIZES: Final = (1, 2, 3, 7, 20, 63, 400, 5_000, 100_000)
TARGETS: Final = (0.0005, 0.03, 0.5, 0.873, 0.95, 0.9995)
PARTS: Final = (0.001, 0.025, 0.975, 0.999)


@pytest.mark.parametrize("owed", SIZES)
def test_wilson_is_that_of_statsmodels(owed: int) -> None:
    for met in {0, 1, owed // 3, owed // 2, owed - 1, owed}:
        low, high = proportion_confint(met, owed, alpha=0.05, method="wilson")
        found = wilson(met, owed)
        assert found is not None
        assert (found.low, found.high) == pytest.approx((low, high), abs=1e-12)


@pytest.mark.parametrize("owed", SIZES)
def test_funnel_limits_are_those_of_scipy_s_binomial(owed: int) -> None:
    """The interpolation of Spiegelhalter 2005, written out over scipy's quantiles."""
    for target in TARGETS:
        limits = funnel_limits(owed, target)
        found = (limits.low_998, limits.low_95, limits.high_95, limits.high_998)
        assert found == pytest.approx(tuple(_limit(p, owed, target) for p in PARTS), abs=1e-10)


def _limit(p: float, owed: int, target: float) -> float:
    count = binom.ppf(p, owed, target)
    past = (binom.cdf(count, owed, target) - p) / binom.pmf(count, owed, target)
    return float(max(0, (count - past) / owed))


def _waits(seed: int) -> list[tuple[int, int]]:
    """Up to 400 waits in minutes, a part of them censored, many at the same minute."""
    rnd = Random(seed)  # noqa: S311 - made-up numbers
    longest, censored = rnd.choice((5, 40, 300)), rnd.choice((0, 0.1, 0.6))
    count = rnd.randint(1, 400)
    return [(rnd.randint(1, longest), int(rnd.random() >= censored)) for _ in range(count)]


def _curve(waits: list[tuple[int, int]]) -> Curve:
    return kaplan_meier(Ended(minutes, event, 1 - event) for minutes, event in waits)


@pytest.mark.parametrize("seed", range(6))
def test_kaplan_meier_is_that_of_lifelines(seed: int) -> None:
    waits = _waits(seed)
    curve, fitted = _curve(waits), KaplanMeierFitter().fit(*zip(*waits, strict=True))
    table, bounds = fitted.event_table, fitted.confidence_interval_

    assert [(one.minutes, one.at_risk, one.events, one.censored) for one in curve.steps] == [
        (row.Index, row.at_risk, row.observed, row.censored)
        for row in table.itertuples()
        if row.Index > 0
    ]
    for one in curve.steps:
        assert one.survival == pytest.approx(fitted.predict(one.minutes), abs=1e-12)
        if one.interval is not None:
            pair = (one.interval.low, one.interval.high)
            assert pair == pytest.approx(tuple(bounds.loc[one.minutes]), abs=1e-9)
    assert [_or_never(curve.median), _or_never(curve.p90)] == [
        qth_survival_time(part, fitted.survival_function_) for part in (0.5, 0.1)
    ]


def _or_never(minutes: float | None) -> float:
    return np.inf if minutes is None else minutes


@pytest.mark.parametrize("seed", range(6, 9))
def test_kaplan_meier_is_that_of_statsmodels_and_scipy(seed: int) -> None:
    waits = _waits(seed)
    curve, other = _curve(waits), SurvfuncRight(*zip(*waits, strict=True))
    steps = {one.minutes: one for one in curve.steps}

    for minutes, survival, error in zip(
        other.surv_times, other.surv_prob, other.surv_prob_se, strict=True
    ):
        step = steps[minutes]
        assert step.survival == pytest.approx(survival, abs=1e-12)
        if step.error is not None:
            assert step.error == pytest.approx(error, abs=1e-12)
    assert [curve.survival_at(at) for at in range(301)] == pytest.approx(
        list(_scipy(waits).evaluate(range(301))), abs=1e-12
    )


def _scipy(waits: list[tuple[int, int]]) -> Any:
    sample = CensoredData.right_censored(
        [minutes for minutes, _ in waits], [not event for _, event in waits]
    )
    return ecdf(sample).sf


@pytest.mark.parametrize("seed", range(3))
def test_quantiles_are_those_of_numpy(seed: int) -> None:
    rnd = Random(seed)  # noqa: S311 - made-up numbers
    values = [
        rnd.choice((rnd.randint(0, 20), rnd.uniform(0, 300))) for _ in range(rnd.randint(1, 90))
    ]

    for part in (0, 0.05, 0.25, 0.5, 0.9, 1):
        assert quantile(values, part) == pytest.approx(np.quantile(values, part), abs=1e-9)
