"""Statistics of the review against published worked examples.

Sources stand with each vector: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 and
6.3.3.2; Newcombe, Stat Med 1998;17:857-872, table I; the remission times of Freireich 1963 and
Gehan 1965.
"""

from typing import Any

import pytest

from server.domain.review.p_chart import p_chart
from server.domain.review.proportion import Interval, wilson
from server.domain.review.quantiles import quantile
from server.domain.review.signals import Rule, find_signals
from server.domain.review.survival import Curve, Ended, kaplan_meier
from server.domain.review.xmr import D2, D4, xmr
from tests.near import near
from tests.standards.vectors import vectors

VECTORS = vectors("statistics.json")
P_CHART = VECTORS["p_chart_nist_montgomery"]
XMR = VECTORS["xmr_nist_flowrate"]
REMISSION = VECTORS["km_6mp"]
QUANTILES = VECTORS["quantile_own"]


def limits_of(counts: list[int]) -> dict[str, float]:
    point = p_chart([(count, P_CHART["n"]) for count in counts]).points[0]
    return _rounded({"pbar": point.centre, "ucl": point.high, "lcl": point.low})


def _rounded(figures: dict[str, float | None]) -> dict[str, float]:
    return {name: round(figure, 4) for name, figure in figures.items() if figure is not None}


def test_p_chart_of_defective_chips() -> None:
    counts, expected = P_CHART["counts"], dict(P_CHART["expected"])
    beyond = [place - 1 for place in expected.pop("out_of_control_samples")]
    chart = p_chart([(count, P_CHART["n"]) for count in counts])

    assert limits_of(counts) == expected
    signals = find_signals(chart, (Rule.BEYOND_LIMITS,))
    assert [one.places for one in signals] == [(place,) for place in beyond]

    kept = [count for place, count in enumerate(counts) if place not in beyond]
    assert limits_of(kept) == {**P_CHART["after_removing_15_23"]}


def test_individuals_chart_of_flow_rates() -> None:
    charts = xmr(XMR["x"])
    value, moved = charts.values.points[0], charts.ranges.points[1]
    found = {
        "xbar": value.centre,
        "mrbar": moved.centre,
        "ucl": value.high,
        "lcl": value.low,
        "ucl_mr": moved.high,
    }

    assert (XMR["d2"], XMR["D4"]) == (D2, D4)
    expected = dict(XMR["expected"])
    assert found.pop("ucl_mr") == pytest.approx(expected.pop("ucl_mr"), abs=2.5e-4)  # from rounded
    assert found == pytest.approx(expected, abs=6e-5)
    assert find_signals(charts.values) == find_signals(charts.ranges, (Rule.BEYOND_LIMITS,)) == ()


@pytest.mark.parametrize("row", VECTORS["wilson_newcombe1998"]["rows"], ids=lambda row: row["n"])
def test_wilson_intervals_of_newcombe(row: dict[str, Any]) -> None:
    found = wilson(row["r"], row["n"])

    assert found is not None
    assert [round(found.low, 4), round(found.high, 4)] == row["wilson"]


def test_wilson_intervals_of_newcombe_from_memory() -> None:
    """Two more rows of table I, method 3; values from memory."""
    assert wilson(15, 148) == _about(0.0624, 0.1605)
    assert wilson(1, 29) == _about(0.0061, 0.1718)


def _about(low: float, high: float) -> Interval:
    return Interval(near(low, 5e-5), near(high, 5e-5))


def test_remission_under_treatment() -> None:
    curve = _remission(zip(REMISSION["time"], REMISSION["event"], strict=True))
    found = {at: round(curve.survival_at(float(at)), 3) for at in REMISSION["expected"]}

    assert found == REMISSION["expected"]
    assert (curve.total, curve.events) == (21, 9)
    assert (curve.median, curve.p90) == (REMISSION["median"], None)
    assert curve.steps[0].error == pytest.approx(REMISSION["greenwood_se_6"], abs=5e-5)


def test_remission_under_placebo() -> None:
    curve = _remission((at, 1) for at in REMISSION["placebo_time"])

    assert curve.median == REMISSION["placebo_median"]
    assert curve.survival_at(23) == 0


def _remission(rows: Any) -> Curve:
    return kaplan_meier(Ended(at, event, 1 - event) for at, event in rows)


@pytest.mark.parametrize(("name", "part"), [("p50", 0.5), ("p90", 0.9)])
def test_quantiles_are_those_of_type_7(name: str, part: float) -> None:
    assert quantile(QUANTILES["x"], part) == pytest.approx(QUANTILES[name]["linear"])
