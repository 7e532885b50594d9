"""A ward of the past: the instant, the way to others, what was learnt later, who may see it."""

import re
from datetime import timedelta
from html import unescape
from zoneinfo import ZoneInfo

import pytest

from server.domain.payloads import Acknowledged, Assigned, RateSet, ReactionSuspected, Voided
from server.domain.words import ClockName
from server.pages.replays.spans import span_at
from server.services.enter_shift import ShiftDraft, enter_shift
from server.store.audit import links_after
from server.store.shifts import Shift
from tests.domain.builders import at
from tests.pages.hospital import PART, Hospital
from tests.pages.reading import Page
from tests.services.people import CHARGE, MANAGER

HERE = "/wards/w1/replay"
LONDON = ZoneInfo("Europe/London")


def instant(minute: float) -> str:
    """An instant as an address carries it."""
    return f"{at(minute):%Y-%m-%dT%H:%M:%SZ}"


@pytest.fixture
def late(hospital: Hospital) -> Hospital:
    """Bed 4: the first check, done in time, is charted half an hour later; bed 5: as it happens."""
    charting = hospital.charting
    charting.run("e1", "p1", nurse_id="nurse-1")
    charting.run("e2", "p2", bed="5", nurse_id="nurse-2")
    charting.observe(22, "p2")
    for unit in ("e1", "e2"):
        charting.record(26, RateSet(150), unit)
    charting.tick(31)
    charting.record(33, Acknowledged(ClockName.FIRST_CHECK, "nurse-1"), "e1")
    charting.observe(25, "p1", now=60)
    hospital.clock.now = at(90)
    return hospital


def see(hospital: Hospital, minute: float = 40, **asked: str) -> Page:
    """The page of an instant, as the manager sees it."""
    said = "".join(f"&{name}={value}" for name, value in asked.items())
    return hospital.visit(MANAGER).see(f"{HERE}?at={instant(minute)}{said}")


def test_the_board_is_shown_as_known_then_and_as_known_now(late: Hospital) -> None:
    then, now = see(late), see(late, known="now")

    assert "10:40:00 GMT, Tuesday 3 March 2026" in then.text
    assert "The past, as it was known then: what a screen showed at that second." in then.text
    assert "The past, with all that is known now, 50 min later." in now.text
    assert "First check was due 10:25, limit 10:30 passed 10 min ago ." in then.text
    assert "First check was due" not in now.text
    unit = f"/episodes/e1?at={instant(40)}"
    assert f"{unit}&known_at={instant(40)}" in then.links
    assert unit in now.links
    assert "This is the past" in late.visit(MANAGER).see(f"{unit}&known_at={instant(40)}").text


def test_what_was_learnt_later_is_told_in_words(late: Hospital) -> None:
    text = see(late).text

    assert "1 unit stood otherwise than was known. 1 fact was charted later." in text
    assert "Level Overdue Steady First check overdue, limit 10:30 met 10:25" in text
    assert (
        "Observations : 36.8 °C, pulse 78, respirations 16, 124/76 mmHg. Done 10:25, "
        "recorded 11:00 by Nina Nurse, 35 min later ."
    ) in text
    assert "bed 5" not in text.partition("Known then, and known now")[2].partition("Board")[0]


def test_it_says_so_where_nothing_differs(late: Hospital) -> None:
    assert (
        "Nothing differs. Nothing that had happened by 11:10:00 was charted, changed or taken back "
        "after 11:10:00: the ward stood as it was known."
    ) in see(late, 70).text


def test_what_was_taken_back_and_a_request_on_paper_are_told(hospital: Hospital) -> None:
    charting = hospital.charting
    charting.run("e1")
    mistake = charting.record(20, RateSet(200), now=24)
    charting.record(60, Voided(mistake.event_id, "other pump"), now=60)
    charting.record(12, Assigned("nurse-2"), "e1", now=60)
    charting.record(12, ReactionSuspected(("rigors",)), "e1", now=at(30, 20))
    charting.open("paper", "p2", bed="9", requested_at=at(0), now=61)
    hospital.clock.now = at(90)

    text, exact = see(hospital, 30).text, see(hospital, 12).text

    assert "Rate 200 mL/h 60 mL/h" in text
    assert "Nurse unassigned Cleo Colleague" in text
    assert "Taken back: Rate set : other pump. Done 10:20, recorded 11:00 by Nina Nurse" in text
    assert "Level not on the board Waiting" in text
    assert "The request itself was recorded 11:01." in text
    assert "Reaction suspected" in exact


def test_the_list_of_a_nurse_and_the_reminders_as_they_stood(late: Hospital) -> None:
    nobody = see(late, view="list")
    then, now = (see(late, view="list", nurse="nurse-1", known=one) for one in ("then", "now"))
    said, after = (see(late, view="reminders", known=one) for one in ("then", "now"))

    assert "Choose above whose list is to be shown." in nobody.text
    assert "First check: observations !! overdue" in then.text.replace("!!!", "!!")
    assert "Nina Nurse has it" in then.text
    assert "overdue" not in now.text.partition("List of a nurse")[2]
    assert "said at the limit to Nina Nurse, 10:31" in said.text
    assert "as known now met 10:25" in said.text
    assert "10:31:00 4 First check said at the limit Nina Nurse Nina Nurse, 10:33" in said.text
    assert "Nothing that had been reminded of was owed." in after.text


def test_the_form_finds_an_instant_without_scripts(late: Hospital) -> None:
    form = see(late, view="list", nurse="nurse-1").form("replay-form")
    typed = form.filled({"at_time": "10:41:07", "nurse": "nurse-2"})

    answer = late.visit(MANAGER).client.get(HERE, params=typed)

    assert form.values["at_time"] == ["10:40:00"]
    assert "10:41:07 GMT, Tuesday 3 March 2026" in Page(answer.text).text
    assert "Cleo Colleague" in Page(answer.text).text


def test_a_time_that_comes_twice_is_asked_for(hospital: Hospital) -> None:
    """In the night to 25 October 2026 the clocks of London go back from 02:00 to 01:00."""
    hospital.clock.now = at(0).replace(month=10, day=25, hour=12)
    manager, typed = hospital.visit(MANAGER), "at_date=2026-10-25&at_time=01:30"

    asked = manager.get(f"{HERE}?{typed}")
    both = [manager.see(f"{HERE}?{typed}&at_which={one}") for one in ("first", "second")]

    assert asked.status_code == 422
    assert "comes twice: say which is meant" in Page(asked.text).text
    assert "the first, 01:30 BST" in Page(asked.text).text
    assert ["01:30:00 BST" in both[0].text, "01:30:00 GMT" in both[1].text] == [True, True]
    assert both[1].form("replay-form").values["at_which"] == ["second"]
    assert "00:00 BST" in see_day(manager.see(f"{HERE}?at=2026-10-25T00:30:00Z&span=day"))


def see_day(page: Page) -> str:
    """What stands under the slider."""
    return page.html.partition('class="hours"')[2].partition("</svg>")[0]


@pytest.mark.parametrize(
    ("query", "why"),
    [
        ("at=2026-03-03T10:00:00", "expected an instant with its offset"),
        ("at=2026-03-03T12:00:01Z", "lies in the future; expected an instant that has been"),
        ("at_date=2026-03-03&at_time=25:99", "expected a time from 00:00 to 23:59"),
        ("known=ever", "expected then, now, or an instant with its offset"),
        ("view=wall", "is none of the choices"),
        ("span=year", "is none of the choices"),
    ],
)
def test_what_cannot_be_shown_is_refused_with_the_field(
    late: Hospital, query: str, why: str
) -> None:
    late.clock.now = at(120)

    answer = late.visit(MANAGER).get(f"{HERE}?{query}")

    assert answer.status_code == 422
    assert why in Page(answer.text).text
    assert "25:99" not in query or Page(answer.text).form("replay-form").values["at_time"] == [
        "25:99"
    ]


def test_another_instant_of_knowledge_is_a_choice_of_its_own(late: Hospital) -> None:
    page = see(late, known=instant(50))

    assert "with what had been recorded by 10:50:00 GMT, Tuesday 3 March 2026" in page.text
    assert "As known then As known 10:50 As known now" in page.text
    assert "after 10:50:00" in see(late, 70, known=instant(50)).text or "1 fact" in page.text


def test_the_old_addresses_of_the_board_lead_on(late: Hospital) -> None:
    manager = late.visit(MANAGER)
    then, before = instant(40), instant(30)

    led = [
        manager.get(f"/wards/w1/board?{query}").headers["location"].replace("%3A", ":")
        for query in (
            f"at={then}",
            f"at={then}&known_at={then}",
            f"at={then}&known_at={before}&nurse=nurse-1",
            f"known_at={then}",
        )
    ]

    assert led == [
        f"{HERE}?at={then}&known=now",
        f"{HERE}?at={then}",
        f"{HERE}?at={then}&known={before}&nurse=nurse-1",
        f"{HERE}?known={then}",
    ]
    assert manager.get("/replay").headers["location"] == HERE


def test_one_goes_from_event_to_event_and_no_further_than_now(late: Hospital) -> None:
    page, now, end = see(late, 40), see(late, 40, known="now"), see(late, 85)

    assert way(page, "Previous event") == f"{HERE}?at={instant(33)}"
    assert way(page, "Next event") == f"{HERE}?at={instant(60)}"
    assert way(page, "1 min later") == f"{HERE}?at={instant(41)}"
    assert way(now, "Next event") == ""
    assert (way(end, "1 min later"), way(end, "10 min later")) == (f"{HERE}?at={instant(86)}", "")
    assert "11:00:00 Bed 4: observations, done 10:25, charted 11:00" in page.text
    assert "10:30:01 Bed 4: first check, limit passed" in page.text
    assert "10:31:00 Bed 4: first check, said at the limit" in page.text


def way(page: Page, words: str) -> str:
    """Where a step leads, empty where it leads nowhere."""
    found = re.search(rf'href="([^"]*)"[^>]*>{words}</a>', page.html)
    return "" if found is None else unescape(found[1])


def test_a_part_of_the_page_is_answered_alone(late: Hospital) -> None:
    part = late.visit(MANAGER).get(f"{HERE}?at={instant(40)}", **PART).text

    assert part.lstrip().startswith('<div id="replay"')
    assert "<html" not in part


def test_a_look_is_noted(late: Hospital) -> None:
    see(late)
    late.app.state.views.write()

    with late.store.read() as session:
        noted = list(links_after(session, 0))
    assert [(one.subject_kind, one.ward_id, one.actor_id) for one in noted][-1] == (
        "replay",
        "w1",
        "manager-1",
    )


def test_a_nurse_of_another_ward_has_no_list_here(late: Hospital) -> None:
    answer = late.visit(CHARGE).get(f"{HERE}?at={instant(40)}&view=list&nurse=nurse-9")

    assert answer.status_code == 404
    assert "Otto" not in answer.text


def test_the_slider_reaches_over_the_shift_of_most_people(late: Hospital) -> None:
    with late.store.write() as session:
        for who, first in (("nurse-1", -120), ("nurse-2", -120), ("charge-1", -180)):
            enter_shift(session, CHARGE, ShiftDraft(who, "w1", at(first), at(360)), now=at(90))

    assert "Home and End the ends of the shift." in see(late, span="shift").text
    assert f'min="{int(at(-120).timestamp())}"' in see(late, span="shift").html


def test_without_a_shift_on_the_plan_it_reaches_over_the_day() -> None:
    shift = Shift("s", "n", "w1", at(-120), at(360))

    spans = [span_at(name, at(40), LONDON, ()) for name in ("hours", "shift", "day")]

    assert [(one.start, one.end, one.words) for one in spans] == [
        (at(-180), at(180), "the three hours before and after"),
        (at(-600), at(840), "no shift is on the plan: the day, 3 March 2026"),
        (at(-600), at(840), "the day, 3 March 2026"),
    ]
    assert span_at("shift", at(40), LONDON, [shift]).words == "the shift"
    backwards = span_at("day", at(0).replace(month=10, day=25), LONDON, ())
    assert backwards.end - backwards.start == timedelta(hours=25)
