"""The record of a unit that did not go as usual: gaps are named, times carry their day."""

from dataclasses import replace
from datetime import date, timedelta

from server.domain.payloads import (
    Discarded,
    Inspected,
    Issued,
    Paused,
    Resumed,
    Returned,
    Started,
)
from server.domain.words import BloodGroup, Component
from server.services.open_order import OrderDraft, open_order
from tests.domain.builders import CHECKED, SOUND, at
from tests.pages.hospital import Hospital
from tests.pages.record_seen import NOBODY, NURSE, facts, lines, seen
from tests.pages.sets import in_fahrenheit
from tests.pages.told_units import LABEL, checked, give, mend
from tests.services.charting import local_policy
from tests.services.people import ADMINISTRATOR, CHARGE, P1, register
from tests.services.records import BARE, LATER, read_in


def test_a_unit_that_went_back_says_so_and_owes_no_step(hospital: Hospital) -> None:
    hospital.charting.open()
    hospital.charting.issue()
    hospital.charting.record(20, Returned("fever before the start"))
    hospital.clock.now = at(60)

    record = seen(hospital)

    assert facts(record, "Unit") == {
        "Unit number": NOBODY,
        "Product code": NOBODY,
        "Group of the unit": NOBODY,
        "Expires": NOBODY,
        "Volume": "280 mL",
    }
    assert facts(record, "Given") == {
        "First checker": NOBODY,
        "Second checker": NOBODY,
        "Out of storage to start": "never started",
        "Start to end": "never started",
        "Volume given": "never started",
        "Fate of the bag": "returned to the blood bank, 10:20 Nina Nurse",
    }
    assert lines(record.course) == ["10:00 Issued", "10:20 Returned: fever before the start"]
    assert (record.flow, record.signs.rows, record.signs.notes) == ((), (), ())
    assert (record.state, record.deviations.steps) == ("", ())
    assert facts(record, "Order")["Consent"] == NOBODY


def test_history_that_was_read_in_names_its_gaps(hospital: Hospital) -> None:
    read_in(hospital.charting, replace(BARE, ended_at=at(130), given_ml=200))
    hospital.clock.now = LATER

    record = seen(hospital, "u1")

    assert record.history
    assert record.identity == (
        ("Patient", "name not recorded"),
        ("Born", NOBODY),
        ("Record number", "h1"),
        ("Unit", f"Plasma, {NOBODY}"),
    )
    assert facts(record, "Patient")["Name"] == NOBODY
    assert facts(record, "Unit")["Volume"] == NOBODY
    assert facts(record, "Given") == {
        "First checker": NOBODY,
        "Second checker": NOBODY,
        "Out of storage to start": NOBODY,
        "Start to end": "2 h 00",
        "Volume given": "200 mL, by rates and readings",
        "Fate of the bag": "transfused, 12:10 program",
    }
    assert record.signs.rows == ()
    assert [one.words for one in record.deviations.breaches] == [
        "Baseline observations",
        "First check",
        "Running check",
        "End observations",
    ]
    assert record.deviations.steps == (
        "Order and consent",
        "Group and sample",
        "Line and access",
        "Collection",
        "Receipt and inspection",
        "Identity check",
        "Spiked and primed",
        "Rate review",
        "Flush",
    )


def test_an_override_says_what_against_why_and_by_whom(hospital: Hospital) -> None:
    hospital.charting.open()
    hospital.charting.issue()
    hospital.charting.record(4, SOUND)
    hospital.charting.record(5, replace(CHECKED, second_by=None))
    hospital.charting.record(6, Started(120, override_reason="bleeding, nobody free"))
    hospital.charting.record(9, Paused("X-ray"))
    hospital.charting.record(12, Resumed(100))
    hospital.clock.now = at(20)

    record = seen(hospital)

    assert record.deviations.against == (
        "identity was checked by one person and the policy asks for two",
    )
    assert record.deviations.override == "bleeding, nobody free (10:06 Nina Nurse)"
    assert facts(record, "Given") | {"Volume given": ""} == {
        "First checker": NURSE,
        "Second checker": NOBODY,
        "Out of storage to start": "6 min, counted from its issue",
        "Start to end": NOBODY,
        "Volume given": "",
        "Fate of the bag": NOBODY,
    }
    assert [(row.what, row.text, row.rate, row.given) for row in record.flow] == [
        ("Started", "", "120", "0"),
        ("Paused", "X-ray", "0", "6"),
        ("Resumed", "", "100", "6"),
    ]


def test_one_checker_is_no_gap_where_the_policy_asks_for_one(hospital: Hospital) -> None:
    own = local_policy("[identity.checkers]\nvalue = 1\n")
    hospital.charting.put_in_force(own, when=-100)
    hospital.charting.open()
    hospital.charting.issue()
    hospital.charting.record(5, replace(CHECKED, second_by=None))
    hospital.clock.now = at(6)

    assert facts(seen(hospital), "Given")["Second checker"] == "not asked for"


def test_the_order_says_its_rate_and_what_the_label_shows(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        register(session, replace(P1, blood_group=BloodGroup.A_NEG), minute=-590)
        draft = OrderDraft(
            "o1", "p1", "w1", "4", Component.PLATELETS, 2, 250, max_rate_ml_h=200,
            duration_minutes=60, requirements=("irradiated",),
        )  # fmt: skip
        open_order(session, CHARGE, draft, now=at(-60))
    hospital.clock.now = at(5)
    asked = seen(hospital, "o1-2")
    hospital.charting.issue("o1-2", attributes=("irradiated",), product_code="E2807", division="A0")

    issued = seen(hospital, "o1-2")

    assert facts(asked, "Order") == {
        "Component": "Platelets, unit 2 of 2",
        "Urgency": "routine",
        "Requirements": "irradiated",
        "Rate": "at most 200 mL/h, over 60 min",
        "Consent": NOBODY,
    }
    assert facts(issued, "Order")["Requirements"] == "irradiated, met: the label says so"
    assert facts(issued, "Unit")["Product code"] == "E2807, division A0"
    assert facts(issued, "Patient")["Blood group"] == "A\N{MINUS SIGN}"
    assert facts(asked, "Given")["First checker"] == NOBODY
    assert asked.state == "Not finished at 10:05: requested."


def test_times_of_another_day_or_another_zone_carry_it(hospital: Hospital) -> None:
    # The clocks go back on 25 October 2026 at 01:00 UTC: 01:30 is read twice.
    start = at(0).replace(month=10, day=24, hour=22, minute=40)
    charting = hospital.charting
    charting.open(now=start - timedelta(hours=1))
    charting.record(start, Issued())
    charting.record(start + timedelta(minutes=10), Started(60, override_reason="night"))
    charting.record(start + timedelta(hours=1, minutes=50), Paused("first"))
    charting.record(start + timedelta(hours=2, minutes=50), Resumed())
    hospital.clock.now = start + timedelta(hours=3)

    record = seen(hospital)

    assert record.day == "Sat 24 October 2026, BST"
    assert [row.time for row in record.flow] == ["23:50", "25 Oct 01:30", "25 Oct 01:30 GMT"]
    assert record.made == "01:40 on 25 October 2026, GMT, by Carl Charge, charge nurse"


def test_a_day_of_another_year_carries_the_year(hospital: Hospital) -> None:
    checked(hospital)
    hospital.charting.open("e2")
    hospital.charting.record(0, replace(LABEL, unit_number="G1", expires_at=at(500_000)), "e2")

    assert facts(seen(hospital, "e2"), "Unit") == {
        "Unit number": "G1",
        "Product code": "E0336",
        "Group of the unit": "O\N{MINUS SIGN}",
        "Expires": "13 Feb 2027 15:20",
        "Volume": "280 mL",
    }


def test_temperatures_are_in_the_ward_s_unit(hospital: Hospital) -> None:
    in_fahrenheit(hospital)
    give(hospital)

    signs = seen(hospital).signs

    assert signs.heads[0] == "Tempera\N{SOFT HYPHEN}ture, °F"
    assert [row.signs[0] for row in signs.rows] == ["98.2", "98.2", "98.2", "99.0"]


def test_a_child_has_no_score_and_every_set_says_why(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        register(session, replace(P1, birth_date=date(2020, 1, 1), weight_kg=15), minute=-590)
    hospital.charting.run()
    hospital.clock.now = at(20)

    assert seen(hospital).signs.notes == (
        "In no set: SpO₂, %; Oxygen; Consciousness; NEWS2; Symptoms.",
        "NEWS2 not calculated: under 16: use the paediatric chart.",
    )


def test_who_has_left_the_ward_is_still_named(hospital: Hospital) -> None:
    checked(hospital)
    hospital.charting.record(8, Inspected(leak=True), staff_id=ADMINISTRATOR.id)
    hospital.charting.record(9, Discarded("leaks"))

    record = seen(hospital)

    assert record.course[-2].who == "Ada Admin, recorded by Nina Nurse"
    assert facts(record, "Given")["Fate of the bag"] == "discarded, 10:09 Nina Nurse"


def test_an_instant_hides_what_came_later_and_a_knowledge_what_was_recorded_later(
    hospital: Hospital,
) -> None:
    mend(hospital)

    then, known = seen(hospital, at=at(40)), seen(hospital, at=at(40), known_at=at(40))

    assert [row.time for row in then.signs.rows] == ["10:05", "10:26"]
    assert [row.time for row in known.signs.rows] == ["10:05"]
    assert [row.what for row in then.flow] == ["Started", "Rate set"]
    assert [row.what for row in known.flow] == ["Started"]
    assert [one.late for one in then.deviations.breaches] == ["10 min late"]
    assert then.state == "Not finished at 10:40: running."
    assert lines(seen(hospital, known_at=at(13)).course)[-1] == "10:12 Note: for bed 5"
    assert seen(hospital, known_at=at(13)).voided == ()
