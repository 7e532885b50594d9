"""NEWS2 against published sets, derived scenes and band edges.

Sources stand with each vector: open test suites of other scores (MIT) and scenes derived from
chart 1 of the Royal College of Physicians, 2017.
"""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from server.domain import news2 as scores
from server.domain.news2 import News2, band_score, news2, tenths
from server.domain.payloads import Observed
from server.domain.words import Consciousness
from tests.domain.builders import PATIENT
from tests.standards.vectors import vectors

VECTORS = vectors("news2.json")
LEVELS = dict(zip("ACVPU", Consciousness, strict=True))
BANDS = {
    "respiration_rate": scores.RESPIRATIONS,
    "spo2_scale1": scores.SPO2_SCALE_1,
    "spo2_scale2_on_air": scores.SPO2_SCALE_2_ON_AIR,
    "spo2_scale2_on_oxygen": scores.SPO2_SCALE_2_ON_OXYGEN,
    "systolic_bp": scores.SYSTOLIC,
    "pulse": scores.PULSE,
    "temperature": scores.TEMPERATURE_TENTHS,
}


def by_id(vector: dict[str, Any]) -> str:
    return str(vector["id"])


def scored(taken: dict[str, Any]) -> News2:
    observed = Observed(
        temperature_c=taken["temp"],
        pulse_per_min=taken["pulse"],
        respirations_per_min=taken["rr"],
        systolic_mmhg=taken["sbp"],
        spo2_percent=taken["spo2"],
        on_oxygen=taken["oxygen"],
        consciousness=LEVELS[taken["acvpu"]],
    )
    result = news2(observed, replace(PATIENT, spo2_scale=taken["spo2_scale"]), date(2026, 3, 3))
    assert isinstance(result, News2)
    return result


@pytest.mark.parametrize("vector", VECTORS["test_vectors"], ids=by_id)
def test_a_set_has_its_published_score(vector: dict[str, Any]) -> None:
    result = scored(vector["obs"])

    assert {
        "subscores": dict(result.subscores),
        "total": result.score,
        "any_parameter_3": result.single_three,
        "risk": result.risk.value,
    } == vector["expected"]


@pytest.mark.parametrize(
    "edge", VECTORS["boundary_vectors"], ids=lambda edge: f"{edge['param']}-{edge['value']}"
)
def test_an_edge_of_a_band(edge: dict[str, Any]) -> None:
    value = tenths(edge["value"]) if edge["param"] == "temperature" else edge["value"]

    assert band_score(value, BANDS[edge["param"]]) == edge["score"]


@pytest.mark.parametrize("name", BANDS)
def test_the_whole_table(name: str) -> None:
    """Every whole value (every tenth of a degree) that each band holds."""
    table = VECTORS["bands"][name]["bands"]
    step = 10 if name == "temperature" else 1
    wrong = [
        value
        for band in table
        for value in range(
            round((band["min"] or 0) * step), round((band["max"] or 400 / step) * step) + 1
        )
        if band_score(value, BANDS[name]) != band["score"]
    ]

    assert wrong == []
