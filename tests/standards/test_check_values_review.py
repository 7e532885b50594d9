"""Published check value 19: a woman of 45 kg, one unit of 280 mL, and a second one ordered.

JPAC Transfusion Handbook 4.13: about 4 mL/kg raises the haemoglobin by 10 g/L. UK quality standard
QS138, statement 3: reassess clinically and check the haemoglobin after each unit, unless bleeding
or on a chronic programme. No laboratory result reaches this board: it asks for the review and does
not hold the start. Local policy decides.
"""

from dataclasses import replace

import pytest

from server.domain.expected_rise import expected_rise_g_l
from server.domain.payloads import Issued, Started
from server.domain.words import Component
from tests.domain.builders import COMMON, PATIENT, at, case, look

SMALL = replace(PATIENT, weight_kg=45)
ASKS = (
    "Unit 2 of 2: review the patient and the haemoglobin before it, except in bleeding or a "
    "regular programme, by local policy."
)


@pytest.mark.parametrize(("volume_ml", "rise_g_l"), [(180, 10.0), (280, 15.6)])
def test_19_what_a_volume_is_expected_to_raise(volume_ml: float, rise_g_l: float) -> None:
    assert round(expected_rise_g_l(volume_ml, 45, COMMON), 1) == rise_g_l


def _asked(*facts: object, **fields: object) -> list[str]:
    given = case(*facts, **({"patient": SMALL, "units": 2, "n": 2} | fields))  # type: ignore[arg-type]
    return [one.detail for one in look(given, at(20)).advices if one.code == "review_before_unit"]


def test_19_the_second_unit_waits_for_a_review() -> None:
    rise = " 280 mL at 45 kg is expected to raise it by about 15.6 g/L."

    assert _asked((0, Issued())) == [ASKS + rise]
    assert _asked((0, Issued()), patient=replace(SMALL, weight_kg=None)) == [ASKS]


def test_19_it_is_asked_of_later_units_of_red_cells_before_their_start() -> None:
    assert _asked((0, Issued()), n=1) == []
    assert _asked((0, Issued()), component=Component.PLATELETS) == []
    assert _asked((0, Issued()), (10, Started(60))) == []
    assert _asked((0, Issued()), history=True) == []
