"""The record for the notes, as it is worked out: every fact in its place."""

from server.domain.payloads import (
    Completed,
    ReactionSuspected,
    Started,
    Voided,
)
from server.pages.episodes.make_desk import speech_of
from server.pages.records.told import parted
from tests.pages.hospital import Hospital
from tests.pages.record_seen import NOBODY, NURSE, facts, lines, read_of, seen
from tests.pages.told_units import give, mend, react


def test_who_what_and_which_bag_stand_at_the_head(hospital: Hospital) -> None:
    give(hospital)

    record = seen(hospital)

    assert record.identity == (
        ("Patient", "Alder, Ida"),
        ("Born", "4 May 1961"),
        ("Record number", "T000001"),
        ("Unit", "Red cells, A9999 26 123456 T"),
    )
    assert facts(record, "Patient") == {
        "Name": "Alder, Ida",
        "Born": "4 May 1961, 64 y",
        "Record number": "T000001",
        "Blood group": NOBODY,
        "Where": "Ward 1, bed 4",
    }
    assert facts(record, "Unit") == {
        "Unit number": "A9999 26 123456 T",
        "Product code": "E0336",
        "Group of the unit": "O\N{MINUS SIGN}",
        "Expires": "4 Mar 01:00",
        "Volume": "280 mL",
    }
    assert facts(record, "Order") == {
        "Component": "Red cells",
        "Urgency": "routine",
        "Requirements": "none in the order",
        "Rate": "none in the order",
        "Consent": "confirmed 09:40 Nina Nurse",
    }
    assert facts(record, "Given") == {
        "First checker": NURSE,
        "Second checker": "Cleo Colleague",
        "Out of storage to start": "13 min",
        "Start to end": "2 h 00",
        "Volume given": "280 of 280 mL, by rates and readings",
        "Fate of the bag": "transfused, 12:30 Nina Nurse",
    }


def test_a_unit_that_went_as_it_should_is_told_in_order(hospital: Hospital) -> None:
    give(hospital)

    record = seen(hospital)

    assert lines(record.course) == [
        "09:30 Assigned: taken over by Nina Nurse",
        "09:40 Confirmed: order and consent",
        "09:41 Confirmed: group and sample valid",
        "09:42 Confirmed: line and access checked, left forearm, 18G",
        (
            "10:00 Issued: unit A999926123456, E0336, O-, 280 mL, left storage 09:57, "
            "expires 4 Mar 01:00"
        ),
        "10:02 Received on the ward",
        "10:03 Bag inspected: sound",
        "10:06 Identity checked: 6 items match; Nina Nurse and Cleo Colleague",
        "10:07 Bag spiked",
        "10:07 Giving set hung",
        "10:10 Started: 60 mL/h",
        "12:10 Completed: 280 mL given",
        "12:12 Flushed: 5 mL of 0.9 % saline",
        "12:30 Fate recorded: transfused",
    ]
    assert (record.state, record.history, record.reactions, record.replayed) == ("", False, (), "")
    assert record.amended == "Nothing was voided. No late entry."
    deviant = record.deviations
    assert (deviant.breaches, deviant.override, deviant.steps) == ((), "", ())
    assert deviant.none == "No limit was passed."
    assert record.policy.startswith("Common practice, version ")
    assert record.made == "14:00 on 3 March 2026, GMT, by Carl Charge, charge nurse"
    assert record.day == "Tue 3 March 2026, GMT"


def test_sets_say_the_check_they_met_and_flow_what_had_run_in(hospital: Hospital) -> None:
    give(hospital)

    record = seen(hospital)

    assert [head.replace("\N{SOFT HYPHEN}", "") for head in record.signs.heads] == [
        "Temperature, °C",
        "Pulse, per min",
        "Respirations, per min",
        "Blood pressure, mmHg",
        "SpO₂, %",
        "Oxygen",
        "Consciousness",
        "NEWS2",
    ]
    assert [(row.time, row.signs, row.meets, row.who) for row in record.signs.rows] == [
        (time, signs, meets, NURSE)
        for time, signs, meets in (
            (
                "10:05",
                ("36.8", "78", "16", "124/76", "97", "air", "alert", "0"),
                "Baseline observations",
            ),
            ("10:25", ("36.8", "92", "16", "124/76", "97", "air", "alert", "1"), "First check"),
            ("11:24", ("36.8", "78", "16", "124/76", "–", "–", "–", "–"), "Running check"),
            (
                "12:20",
                ("37.2", "78", "16", "124/76", "97", "air", "alert", "0"),
                "End observations",
            ),
        )
    ]
    assert record.signs.notes == (
        "In no set: Symptoms.",
        (
            "NEWS2 not calculated at 11:24: incomplete set: SpO2, air or oxygen, consciousness"
            " not recorded."
        ),
    )
    # By hand: 16 min at 60 mL/h, then 44 min at 150 mL/h are 16 and 126 mL; from the reading
    # of 100 mL an hour at 150 mL/h is 250 mL, and the bag was read empty at 280 mL.
    assert [(row.time, row.what, row.text, row.rate, row.given) for row in record.flow] == [
        ("10:10", "Started", "", "60", "0"),
        ("10:26", "Rate set", "", "150", "16"),
        ("11:10", "Volume read", "26 mL less than by the rates", "150", "100"),
        ("12:10", "Completed", "30 mL more than by the rates", "0", "280"),
    ]


def test_a_reaction_is_told_with_steps_outcome_and_what_nobody_recorded(
    hospital: Hospital,
) -> None:
    react(hospital)

    record = seen(hospital)

    (reaction,) = record.reactions
    assert reaction.since == "10:40, 30 min after the start, with 30 mL given"
    assert reaction.symptoms == "fever, chills or rigors"
    assert reaction.outcome == "closed 11:00 Nina Nurse: febrile reaction (mild)"
    assert lines(reaction.rows) == [
        "10:40 Reaction suspected: fever, chills or rigors",
        "10:41 Reaction step done: Stop: clamp the line, keep the bag",
        "10:44 Reaction step done: Tell the clinician",
        "10:46 Reaction step done: wife told on the telephone",
        "11:00 Reaction closed: febrile reaction (mild)",
    ]
    assert reaction.undone == (
        "0.9 % saline through a new set keeps the vein open",
        "Airway, breathing, circulation; call for help",
        "Identity again: the patient says it, band, bag label, form",
        "Look at the bag: clumps, colour, leak, expiry",
        "Tell the transfusion laboratory",
        "Return bag and set to the laboratory, sealed",
        "Samples as local policy says",
        "Document: onset, volume, signs, actions, names",
    )
    assert record.signs.rows[-1].meets == "Reaction check, late, End observations"
    # Nothing is flushed after a suspected reaction: no flush is missing.
    assert record.deviations.steps == ("Rate review",)
    assert facts(record, "Given")["Fate of the bag"] == "part transfused, 11:15 Nina Nurse"


def test_a_second_suspicion_keeps_its_own_entries(hospital: Hospital) -> None:
    react(hospital)
    hospital.charting.record(80, ReactionSuspected(("rash",)))

    record = seen(hospital)

    first, second = record.reactions
    assert len(first.rows) == 5
    assert lines(second.rows) == ["11:20 Reaction suspected: rash, itch or flushing"]
    assert second.outcome == "not closed"
    assert record.state == "Not finished at 14:00: closed, a suspected reaction is open."


def test_mistakes_stay_readable_and_late_entries_say_how_late(hospital: Hospital) -> None:
    mend(hospital)

    record = seen(hospital)

    assert [(line, row.who, row.voided) for line, row in zip(
        lines(record.voided), record.voided, strict=True
    )] == [
        ("10:12 Note: for bed 5", "Cleo Colleague", "voided 10:14 by Nina Nurse: another patient")
    ]  # fmt: skip
    assert "10:12 Note: for bed 5" not in lines(record.course)
    assert record.amended == "1 voided: kept here, not counted. 2 recorded late, marked."
    partial, late = record.signs.rows[1:]
    assert partial.meets == "none, without temperature, respirations, blood pressure"
    assert partial.late == "late entry: recorded 10:50, 24 min after"
    assert (late.time, late.meets) == ("10:45", "First check, late")
    rate = record.flow[1]
    assert rate.who == "Cleo Colleague, recorded by Nina Nurse"
    assert rate.late == "late entry: recorded 11:15, 45 min after"
    (breach,) = record.deviations.breaches
    assert (breach.words, breach.limit_text, breach.late, breach.cause) == (
        "First check",
        "10:30",
        "15 min late",
        "no second checker: both at bed 2",
    )
    assert record.state == "Not finished at 11:20: running."


def test_no_fact_is_left_out_and_none_is_told_twice(hospital: Hospital) -> None:
    mend(hospital)
    hospital.charting.record(78, ReactionSuspected())
    read = read_of(hospital)

    told = parted(read, speech_of(read, ()))

    places = [told.course, told.signs, told.flow, told.reaction, told.voided]
    ids = [one.event.id for place in places for one in place]
    voids = {event.id for event in read.events if isinstance(event.payload, Voided)}
    starts = {event.id for event in read.events if isinstance(event.payload, Started | Completed)}
    assert set(ids) | voids == {event.id for event in read.events}
    assert {one for one in ids if ids.count(one) > 1} == starts  # course and flow
