"""The range of a rate on the page of a unit, and the drops of the set that hangs."""

import pytest

from server.domain.payloads import RateSet, Started
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.services.people import NURSE


def test_the_rate_review_shows_a_range_and_no_instruction(hospital: Hospital) -> None:
    hospital.charting.run()
    hospital.clock.now = at(26)

    text = hospital.visit(NURSE).see("/episodes/e1?step=rate").text

    assert "Between needed and permitted 75 to 300 mL/h" in text
    assert "Gravity set 25 to 100 drops/min at 20 drops/mL" in text
    assert "Needed to finish in time, and permitted by local policy. Not an instruction." in text


def test_the_set_that_hangs_says_the_drops(hospital: Hospital) -> None:
    in_phase(hospital, "checked")
    nurse, page = hospital.visit(NURSE), "/episodes/e1?step=running"
    nurse.done("/episodes/e1?step=line", "line-press-primed-60")
    hospital.charting.record(31, Started(60))
    hospital.clock.now = at(32)

    text = nurse.see(page).text
    changed = nurse.done(page, "running-set_changed", drops_per_ml="20")

    assert "Giving set hung , 60 drops/mL" in text
    assert "Gravity set 60 drops/min at 60 drops/mL" in text
    assert "Until 10:46 at most 60 mL/h, 60 drops/min. Needed to finish in time" in text
    assert "Gravity set 20 drops/min at 20 drops/mL" in nurse.see(changed).text


@pytest.mark.parametrize(
    ("minute", "said"),
    [(200, "338 mL/h needed, 300 permitted"), (241, "up to 300 mL/h")],
)
def test_what_cannot_be_reached_is_no_range(hospital: Hospital, minute: int, said: str) -> None:
    hospital.charting.run()
    hospital.charting.record(20, RateSet(15))
    hospital.clock.now = at(minute)

    assert said in hospital.visit(NURSE).see("/episodes/e1").text
