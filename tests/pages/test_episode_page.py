"""The page of a unit: what is present, what was done, what the record says, in the ward's words."""

from dataclasses import replace

from server.domain.payloads import (
    Acknowledged,
    Assigned,
    CauseGiven,
    Completed,
    FateRecorded,
    Flushed,
    IdentityChecked,
    Inspected,
    Issued,
    Note,
    Observed,
    Paused,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Received,
    Resumed,
    SetHung,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.words import BloodGroup, ClockName, Component, Fate, Priority
from server.services.open_order import OrderDraft, open_order
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.recordings import MATCHED
from tests.services.people import CHARGE, MANAGER, NURSE, P1, register

CHECKED = IdentityChecked("nurse-1", MATCHED, "nurse-2")
WRONG = IdentityChecked("nurse-1", (replace(MATCHED[0], matched=False),), "nurse-2")
HISTORY: tuple[tuple[float, Payload, str], ...] = (
    (0, Issued(at(-3), "G0999", "E0336", BloodGroup.O_NEG, at(900), 280),
     "Issued, unit G0999, E0336, O-, 280 mL, left storage 09:57, expires Wed 4 Mar 01:00"),
    (1, Received(), "Received on the ward"),
    (2, Inspected(), "Bag inspected, sound"),
    (3, WRONG, "Identity checked, no match: Name; Nina Nurse and Cleo Colleague"),
    (4, CHECKED, "Identity checked, 6 items match; Nina Nurse and Cleo Colleague"),
    (5, Observed(36.8, 78, 16, 124, None, 97, True, symptoms=("odd",)),
     "Observations, 36.8 °C, pulse 78, respirations 16, 124/? mmHg, SpO₂ 97 % on oxygen, odd"),
    (6, SetHung(), "Giving set hung"),
    (10, Started(60, "left arm"), "Started, 60 mL/h, left arm"),
    (25, RateSet(150), "Rate set, 150 mL/h"),
    (26, VolumeRead(20), "Volume read, 20 mL given"),
    (27, Paused("X-ray"), "Paused, X-ray"),
    (28, Resumed(), "Resumed"),
    (29, ReactionSuspected(("fever",)), "Reaction suspected, fever"),
    (30, ReactionStep("tell_clinician"), "Reaction step done, Tell the clinician"),
    (31, ReactionStep("family told"), "Reaction step done, family told"),
    (32, ReactionClosed("none found", "ruled out"), "Reaction closed, none found (ruled out)"),
    (33, Assigned("nurse-2"), "Assigned, handed over to Cleo Colleague"),
    (34, Acknowledged(ClockName.FINISH, "nurse-2"), "“I have it”, Finish: Cleo Colleague has it"),
    (35, CauseGiven(ClockName.BASELINE_CHECK, "other", "why not"),
     "Cause given, Baseline observations, other: why not"),
    (36, Stopped("lost venous access", 40), "Stopped, lost venous access, 40 mL given"),
    (37, Flushed(5), "Flushed, 5 mL of 0.9 % saline"),
    (38, Note("<i>all</i> well"), "Note, <i>all</i> well"),
    (39, FateRecorded(Fate.PART_TRANSFUSED), "Fate recorded, part transfused"),
)  # fmt: skip


def test_the_history_says_every_event_the_newest_first(hospital: Hospital) -> None:
    hospital.charting.open()
    for minute, payload, _text in HISTORY:
        hospital.charting.record(minute, payload)
    hospital.clock.now = at(40)

    text = hospital.visit(MANAGER).see("/episodes/e1").text

    history = text[text.index(" History ") :]
    # The first word is bold, and so stands apart from its comma.
    places = [history.index(said.replace(", ", " , ", 1)) for *_, said in HISTORY]
    assert places == sorted(places, reverse=True)


def test_patient_and_order_stand_at_the_head(hospital: Hospital) -> None:
    patient = replace(
        P1, blood_group=BloodGroup.A_NEG, pregnant=True, overload_risks=("heart failure",)
    )
    with hospital.store.write() as session:
        register(session, patient, minute=-590)
        draft = OrderDraft(
            "o1", "p1", "w1", "4", Component.PLATELETS, 2, 250, Priority.EMERGENCY,
            not_before=at(10), wanted_by=at(40), max_rate_ml_h=200, duration_minutes=60,
            requirements=("irradiated",),
        )  # fmt: skip
        open_order(session, CHARGE, draft, now=at(-30))

    text = hospital.visit(NURSE).see("/episodes/o1-1").text

    said = (
        "Alder, Ida Platelets 1 of 2", "Record number T000001", "Born 4 May 1961, 64 y",
        "Blood group A−", "Weight 68 kg", "Pregnant yes", "Risk of overload heart failure",
        "Urgency emergency", "Ceiling of the order 200 mL/h", "Ordered over 60 min",
        "Not before 10:10", "Wanted by 10:40", "Requirements irradiated",
    )  # fmt: skip
    assert [one for one in said if one not in text.replace("\N{NO-BREAK SPACE}", " ")] == []


def test_every_limit_says_where_it_comes_from(hospital: Hospital) -> None:
    hospital.charting.run()
    hospital.clock.now = at(31)

    before = hospital.visit(NURSE).see("/episodes/e1").text
    hospital.charting.record(31, Completed())
    after = hospital.visit(NURSE).see("/episodes/e1").text

    assert "First check !!! overdue 10:25 6 min late limit 10:30 Common practice: JPAC" in before
    assert "Common practice: project default, to be set locally unverified" in after


def test_values_from_before_stand_beside_the_fields(hospital: Hospital) -> None:
    hospital.charting.run()
    hospital.charting.record(12, Observed(on_oxygen=True, temperature_c=37.1))
    hospital.clock.now = at(22)

    text = hospital.visit(NURSE).see("/episodes/e1").text

    assert "°C 37.1 at 10:12" in text
    assert "Air or oxygen oxygen at 10:12" in text
    assert "mL/h 60 since 10:10, ceiling 300" in text
    assert "mL 12 by rates and readings" in text


def test_the_page_never_advises_to_continue(hospital: Hospital) -> None:
    hospital.charting.run()
    hospital.charting.record(12, ReactionSuspected())
    hospital.clock.now = at(14)

    text = hospital.visit(NURSE).see("/episodes/e1").text.lower()

    assert [word for word in ("continue", "carry on", "safe to", "diagnos") if word in text] == []
