"""What was, and what was known: `at` and `known_at`, late entries, corrections, breaches."""

from datetime import timedelta
from typing import Any

from server.domain.encoding import write_instant
from tests.api.board_api import CHECKED, FULL_SET, NOON, SOUND, BoardApi

ISSUED = NOON - timedelta(hours=2)


def minutes(count: float) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=count)


def test_at_leaves_out_what_happened_later(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "received", ISSUED + minutes(5))

    before, then = (
        ward.get("/api/episodes/e1", at=ISSUED + minutes(count)).json() for count in (4, 5)
    )

    assert [event["kind"] for event in before["events"]] == ["issued"]
    assert [event["kind"] for event in then["events"]] == ["issued", "received"]
    assert (before["at"], before["phase"]) == (write_instant(ISSUED + minutes(4)), "issued")


def test_known_at_leaves_out_what_was_recorded_later(ward: BoardApi) -> None:
    ward.clock.now = ISSUED
    ward.record("e1", "issued", ISSUED)
    ward.clock.now = NOON
    ward.record("e1", "received", ISSUED + minutes(5))
    shown: dict[str, Any] = {"at": ISSUED + minutes(10), "known_at": ISSUED + minutes(10)}

    replayed = ward.get("/api/episodes/e1", **shown)
    known_now = ward.get("/api/episodes/e1", at=ISSUED + minutes(10)).json()

    # The request itself was recorded at noon: at the time nothing was known of the unit.
    assert replayed.status_code == 404
    assert [event["kind"] for event in known_now["events"]] == ["issued", "received"]


def test_the_two_together_show_what_a_screen_showed(ward: BoardApi) -> None:
    start, later = NOON + minutes(10), NOON + minutes(40)
    ward.clock.now = start
    ward.record("e1", "issued", NOON + minutes(5))
    ward.clock.now = later
    ward.record("e1", "received", NOON + minutes(6))

    screen = ward.get("/api/board", ward_id="w1", at=start, known_at=start).json()
    episode = ward.get("/api/episodes/e1", at=start, known_at=start).json()

    assert [(row["episode_id"], row["phase"]) for row in screen["rows"]] == [("e1", "issued")]
    assert [event["kind"] for event in episode["events"]] == ["issued"]


def test_a_late_entry_is_marked(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON - timedelta(minutes=15))
    ward.record("e1", "received", NOON - timedelta(minutes=15, seconds=-1))
    ward.record("e1", "note", NOON - timedelta(minutes=15, seconds=1), text="a")

    events = ward.get("/api/episodes/e1").json()["events"]

    assert {event["kind"]: event["late_entry"] for event in events} == {
        "note": True,
        "issued": False,
        "received": False,
    }


def test_a_void_leaves_the_mistake_visible_and_without_effect(ward: BoardApi) -> None:
    mistake = ward.record("e1", "issued", NOON, volume_ml=300)["event_id"]
    void = ward.record("e1", "voided", NOON, event_id=mistake, reason="wrong unit")["event_id"]

    said = ward.get("/api/episodes/e1").json()

    assert (said["phase"], said["instants"]["issued_at"]) == ("requested", None)
    assert [
        {name: event.get(name) for name in ("id", "kind", "voided_by", "volume_ml", "event_id")}
        for event in said["events"]
    ] == [
        {
            "id": mistake,
            "kind": "issued",
            "voided_by": void,
            "volume_ml": 300,
            "event_id": None,
        },
        {
            "id": void,
            "kind": "voided",
            "voided_by": None,
            "volume_ml": None,
            "event_id": mistake,
        },
    ]


def test_an_event_is_shown_as_it_was_sent(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON, unit_number="G1", blood_group="O-", removed_at=ISSUED)
    ward.record("e1", "identity_checked", NOON, staff_id="n1", interrupted=True, **CHECKED)

    issued, checked = ward.get("/api/episodes/e1").json()["events"]

    assert (issued["unit_number"], issued["blood_group"]) == ("G1", "O-")
    assert issued["removed_at"] == write_instant(ISSUED)
    assert {name: checked[name] for name in (*CHECKED, "interrupted", "staff_id")} == {
        **CHECKED,
        "interrupted": True,
        "staff_id": "n1",
    }


def test_a_set_says_what_it_lacks(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    part = {name: value for name, value in FULL_SET.items() if name != "temperature_c"}
    ward.observe("p1", NOON, **part, symptoms=["itching"])
    ward.observe("p1", NOON + minutes(1))

    first, second = ward.get("/api/episodes/e1", at=NOON + minutes(2)).json()["observations"]

    assert (first["complete"], first["missing"]) == (False, ["temperature"])
    assert (first["temperature_c"], first["symptoms"]) == (None, ["itching"])
    assert (second["complete"], second["missing"], second["pulse_per_min"]) == (True, [], 78)


def test_the_flow_is_answered_in_rounded_numbers(ward: BoardApi) -> None:
    started = ward.start("e1", ISSUED)

    flow = ward.get("/api/episodes/e1", at=started + minutes(10)).json()["infusion"]

    assert flow == {
        "given_ml": 10.0,
        "left_ml": 270.0,
        "rate_ml_h": 60.0,
        "permitted_rate_ml_h": 300.0,
        "projected_end_at": write_instant(started + minutes(15 + 265 / 300 * 60)),
        "needed_rate_ml_h": 73.64,
        "spare_minutes": 162.0,
        "latest_start_at": write_instant(ISSUED + minutes(240 - 56)),
        "drops_per_min": 20,
        "read_difference_ml": None,
    }


def test_a_board_row_says_who_what_and_why(ward: BoardApi) -> None:
    ward.made(
        "/api/staff",
        {"id": "n1", "name": "Nia", "role": "bedside_nurse", "wards": ["w1"]},
        "administrator",
    )
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "assigned", ISSUED, nurse_id="n1")

    said = ward.get("/api/board", ward_id="w1", at=ISSUED + minutes(36)).json()

    (row,) = said["rows"]
    flow = row.pop("infusion")
    assert row == {
        "episode_id": "e1",
        "bed": "1",
        "patient": {
            "id": "p1",
            "record_number": "T1",
            "family_name": "Alder",
            "given_name": "Ida",
            "birth_date": "1961-05-04",
        },
        "component": "red_cells",
        "phase": "issued",
        "level": "overdue",
        "since_at": write_instant(ISSUED + minutes(30)),
        "reason": row["reason"],
        "next": {
            "clock": row["next"]["clock"],
            "n": 1,
            "due_at": write_instant(ISSUED + minutes(30)),
            "limit_at": write_instant(ISSUED + minutes(30)),
        },
        "start_limit_at": write_instant(ISSUED + minutes(30)),
        "finish_limit_at": write_instant(ISSUED + minutes(240)),
        "nurse_id": "n1",
        "overridden": False,
        "nurse_name": "Nia",
        "revision": row["revision"],
    }
    assert "6 min ago" in row["reason"]
    assert flow["left_ml"] == 280.0
    assert said["counts"]["overdue"] == 1
    assert sum(said["counts"].values()) == 1


def test_rows_stand_in_order_of_urgency(ward: BoardApi) -> None:
    ward.episode("2")
    ward.episode("3")
    ward.record("e2", "issued", NOON - minutes(40))
    ward.record("e3", "issued", NOON - minutes(5))

    rows = ward.get("/api/board", ward_id="w1").json()["rows"]

    assert [(row["episode_id"], row["level"]) for row in rows] == [
        ("e2", "overdue"),
        ("e3", "steady"),
        ("e1", "waiting"),
    ]


def test_what_is_due_can_be_asked_of_one_nurse_and_for_a_while(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    ward.record("e1", "assigned", NOON, nurse_id="n1")
    ward.record("e1", "acknowledged", NOON, clock="start", staff_id="n1")

    all_of_it = ward.get("/api/due", ward_id="w1").json()
    soon = ward.get("/api/due", ward_id="w1", nurse_id="n1", within_minutes=30).json()
    others = ward.get("/api/due", ward_id="w1", nurse_id="n2").json()

    assert [item["clock"] for item in all_of_it] == ["return", "start", "finish"]
    assert [(item["clock"], item["acknowledged_by"], item["state"]) for item in soon] == [
        ("return", None, "open"),
        ("start", "n1", "open"),
    ]
    assert others == []


def test_breaches_of_a_period_say_how_late_and_why(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "inspected", ISSUED, **SOUND)
    ward.record("e1", "identity_checked", ISSUED, **CHECKED)
    ward.record("e1", "observed", ISSUED + minutes(34), **FULL_SET)
    ward.record("e1", "started", ISSUED + minutes(35), rate_ml_h=60)
    cause = {"kind": "cause_given", "happened_at": NOON, "clock": "start", "cause": "no access"}
    ward.made("/api/episodes/e1/events", cause, "manager")

    found = ward.get("/api/breaches", ward_id="w1", clock="start").json()
    window: dict[str, Any] = {"from": ISSUED, "to": ISSUED + minutes(30)}
    outside = ward.get("/api/breaches", ward_id="w1", clock="start", **window).json()

    assert found == [
        {
            "clock": "start",
            "n": 1,
            "limit_at": write_instant(ISSUED + minutes(30)),
            "met_at": write_instant(ISSUED + minutes(35)),
            "late_minutes": 5.0,
            "state": "met_late",
            "cause": "no access",
            "cause_text": None,
            "episode_id": "e1",
            "bed": "1",
            "patient_id": "p1",
            "component": "red_cells",
            "nurse_id": None,
        }
    ]
    assert outside == []


def test_an_order_gives_its_episodes_in_sequence(ward: BoardApi) -> None:
    body = {
        "id": "o1",
        "patient_id": "p1",
        "ward_id": "w1",
        "bed": "4",
        "component": "platelets",
        "units": 3,
        "volume_ml": 250,
        "urgency": "emergency",
        "max_rate_ml_h": 150,
        "requirements": ["irradiated"],
    }

    made = ward.made("/api/orders", body)
    again = ward.made("/api/orders", body)
    second = ward.get(f"/api/episodes/{made['episode_ids'][1]}").json()

    assert made["episode_ids"] == ["o1-1", "o1-2", "o1-3"]
    assert again == made
    assert (second["n"], second["units"], second["priority"]) == (2, 3, "emergency")
    assert (second["order_id"], second["volume_ml"], second["bed"]) == ("o1", 250.0, "4")


def test_a_policy_shows_every_value_with_unit_and_source(ward: BoardApi) -> None:
    named = ward.get("/api/policies").json()
    common = ward.get("/api/policies/common").json()

    assert [policy["name"] for policy in named] == ["common", "uk", "nz", "au", "ca"]
    values = {value["key"]: value for value in common["values"]}
    assert (values["start.target_minutes"]["value"], values["start.target_minutes"]["unit"]) == (
        30,
        "minutes",
    )
    assert [value["key"] for value in common["values"] if not value["source"]] == []
