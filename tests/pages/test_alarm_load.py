"""The page of the load: numbers with their words, no person, and a way to it for who may see it."""

import pytest

from server.domain.words import Role
from server.pages.links import SCREENS, ward_href
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE

PATH = "/wards/w1/alarm-load"


@pytest.fixture
def reminded(hospital: Hospital) -> Hospital:
    """Unit `e1` was issued and started in time; its first check is overdue at an hour."""
    with hospital.store.write() as session:
        shift = ShiftDraft(NURSE.id, "w1", at(-60), at(60))
        enter_shift(session, ADMINISTRATOR, shift, now=at(-240))
    hospital.charting.run(nurse_id="nurse-1")
    hospital.charting.tick_each(60, 11, 60)
    hospital.clock.now = at(60)
    return hospital


def test_what_was_raised_stands_in_a_sentence_and_by_limit_stage_hour_unit_and_shift(
    reminded: Hospital,
) -> None:
    page = reminded.visit(MANAGER).see(PATH)

    # Notice at 15, due 25, limit 30, repeats 35 to 60, escalated 35 and 45.
    said = (
        "11 reminders were raised, and 11 called somebody: 0 useful (0 in 100), 0 answered later, "
        "10 ignored, 2 escalated. "
    )
    head = (
        "Raised Useful Answered later Ignored Done before Fell away Still open Quiet Taken "
        "Escalated"
    )
    for words in (
        said,
        "Useful done, or taken with “I have it”, within 10 min and before the next stage",
        f"By limit Reminders of each limit Limit {head} First check 11 0 0 10 0 0 1 0 0 2",
        f"By stage Reminders of each stage Stage {head} Notice before due 1 0 0 1 0 0 0 0 0 0",
        "At the limit 1 0 0 1 0 0 0 0 0 0 Repeats 6 0 0 5 0 0 1 0 0 0",
        "Escalated 1 0 0 1 0 0 0 0 0 1 Escalated again 1 0 0 1 0 0 0 0 0 1",
        "Most calls came from 10:00 to 10:59: 10.",
        "1 unit was live, with 11 calls: 11 for the middle unit, at most 11.",
        # A repeat at the second in which the shift ends is no longer the shift's.
        "Shifts that begin Shifts Calls In the middle shift At most in one 09:00 1 8 8 8",
    ):
        assert words in page.text
    assert "Nina" not in page.text.replace("Mona Manager", "")


def test_a_period_without_reminders_says_so(reminded: Hospital) -> None:
    page = reminded.visit(CHARGE).see(f"{PATH}?from=2025-01-01&to=2025-12-31")

    assert "No reminders None was raised in this period." in page.text


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ("from=2026-03-04&to=2026-03-03", "lies before the first day"),
        ("from=2024-01-01&to=2026-03-03", "makes more than 366 days"),
        ("from=soon&to=2026-03-03", "expected"),
    ],
)
def test_what_is_no_period_is_refused_beside_its_field(
    reminded: Hospital, asked: str, why: str
) -> None:
    answer = reminded.visit(MANAGER).get(f"{PATH}?{asked}")

    assert (answer.status_code, why in answer.text) == (422, True)


@pytest.mark.parametrize("person", [NURSE, CHARGE, MANAGER, ADMINISTRATOR], ids=lambda p: p.id)
def test_every_link_of_a_role_opens(hospital: Hospital, person: Actor) -> None:
    visit = hospital.visit(person)
    links = {h: words for h, words in visit.see("/wards/w1/board").links.items() if words in TEXTS}

    assert {href: visit.get(href).status_code for href in links} == dict.fromkeys(links, 200)
    assert len(links) >= 4


def test_a_manager_finds_every_screen_of_a_ward_that_a_manager_may_open(
    hospital: Hospital,
) -> None:
    visit = hospital.visit(MANAGER)
    found = {
        one.name
        for one in SCREENS
        if one.of_ward and visit.get(ward_href("w1", one.name)).status_code == 200
    }

    assert found == {one.name for one in SCREENS if one.of_ward and Role.MANAGER in one.roles}


TEXTS = {one.text for one in SCREENS}
