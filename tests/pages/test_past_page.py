"""The page of a unit as it was at an instant: it stands still, and nobody records on it."""

import pytest

from server.services.actor import Actor
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDER

THEN = "2026-03-03T10:31:00Z"


def late_check(hospital: Hospital) -> None:
    """Unit `e1` runs; its first check is done at 28 and charted at 52 min."""
    hospital.charting.run(nurse_id="nurse-1")
    hospital.charting.observe(28, now=52)
    hospital.clock.now = at(90)


@pytest.mark.parametrize("person", [NURSE, CHARGE, MANAGER], ids=lambda one: one.id)
def test_a_unit_stands_as_it_was_known_then(hospital: Hospital, person: Actor) -> None:
    late_check(hospital)

    page = hospital.visit(person).see(f"/episodes/e1?at={THEN}&known_at={THEN}")

    assert (
        "This is the past: the unit as it stood at 10:31:00 on 3 March 2026, "
        "with what was recorded by 10:31:00 on 3 March 2026."
    ) in page.text
    assert "Overdue First check was due 10:25, limit 10:30 passed" in page.text
    assert "Observations 10:28" not in page.text
    assert [form.action for form in page.forms] == ["/sign-out"]
    assert "hx-get" not in page.html
    assert page.links["/episodes/e1"] == "The unit now"
    record = "/episodes/e1/record?at=2026-03-03T10%3A31%3A00Z&known_at=2026-03-03T10%3A31%3A00Z"
    assert page.links[record] == "Its record for the notes as of then"


def test_the_same_instant_as_is_known_now(hospital: Hospital) -> None:
    late_check(hospital)
    nurse = hospital.visit(NURSE)

    then = nurse.see(f"/episodes/e1?at={THEN}&known_at={THEN}")
    known_now = next(href for href, text in then.links.items() if text == "With what is known now")
    page = nurse.see(known_now)

    assert known_now == "/episodes/e1?at=2026-03-03T10%3A31%3A00Z"
    assert "with all that is recorded now" in page.text
    assert "Overdue" not in page.text
    assert "With what was known then" in page.links.values()
    only = nurse.see(f"/episodes/e1?known_at={THEN}")
    assert "stood at 11:30:00 on 3 March 2026, with what was recorded by 10:31:00" in only.text


def test_what_cannot_be_shown_is_refused(hospital: Hospital) -> None:
    late_check(hospital)
    nurse = hospital.visit(NURSE)

    ahead = nurse.get("/episodes/e1?at=2026-03-03T11:30:01Z")
    assert (ahead.status_code, "lies in the future" in ahead.text) == (422, True)
    assert nurse.get("/episodes/e1?known_at=half+past+ten").status_code == 422
    assert nurse.get("/episodes/e1?known_at=2026-03-03T08:00:00Z").status_code == 404
    outside = hospital.visit(OUTSIDER).get(f"/episodes/e1?at={THEN}")
    assert (outside.status_code, "Alder" in outside.text) == (403, False)
