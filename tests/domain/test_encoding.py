"""Payloads as JSON and back, lossless."""

import json
from datetime import UTC, datetime, timedelta, timezone

import pytest

from server.domain.encoding import decode, encode, read_instant, write_instant
from server.domain.errors import Invalid
from server.domain.payloads import (
    PAYLOADS,
    CauseGiven,
    CheckedItem,
    FateRecorded,
    IdentityChecked,
    Issued,
    Observed,
    Payload,
    Started,
)
from server.domain.words import BloodGroup, ClockName, Consciousness, Fate, Kind
from tests.domain.builders import KIND_OF, at
from tests.domain.samples import SAMPLE

FULLEST: tuple[tuple[Payload, dict[str, object]], ...] = (
    (
        Issued(
            removed_at=at(-3),
            unit_number="W0000 26 123456",
            product_code="E0382V00",
            blood_group=BloodGroup.AB_NEG,
            expires_at=at(600),
            volume_ml=281.5,
            attributes=("cmv_negative", "k_positive"),
        ),
        {
            "removed_at": "2026-03-03T09:57:00Z",
            "unit_number": "W0000 26 123456",
            "product_code": "E0382V00",
            "blood_group": "AB-",
            "expires_at": "2026-03-03T20:00:00Z",
            "volume_ml": 281.5,
            "attributes": ["cmv_negative", "k_positive"],
        },
    ),
    (
        IdentityChecked(
            first_by="nurse-1",
            second_by="nurse-2",
            items=(CheckedItem("name", matched=True), CheckedItem("group", matched=False)),
            interrupted=True,
        ),
        {
            "first_by": "nurse-1",
            "second_by": "nurse-2",
            "items": [{"item": "name", "matched": True}, {"item": "group", "matched": False}],
            "interrupted": True,
        },
    ),
    (
        Observed(
            temperature_c=37.4,
            pulse_per_min=88,
            respirations_per_min=18,
            systolic_mmhg=131,
            diastolic_mmhg=84,
            spo2_percent=96,
            on_oxygen=False,
            consciousness=Consciousness.NEW_CONFUSION,
            symptoms=("rash", "itch"),
        ),
        {
            "temperature_c": 37.4,
            "pulse_per_min": 88,
            "respirations_per_min": 18,
            "systolic_mmhg": 131,
            "diastolic_mmhg": 84,
            "spo2_percent": 96,
            "on_oxygen": False,
            "consciousness": "new_confusion",
            "symptoms": ["rash", "itch"],
        },
    ),
    (
        CauseGiven(ClockName.FIRST_CHECK, "busy", "two units at once", 2),
        {"clock": "first_check", "cause": "busy", "text": "two units at once", "n": 2},
    ),
    (FateRecorded(Fate.PART_TRANSFUSED), {"fate": "part_transfused"}),
    (Started(60), {"rate_ml_h": 60}),
)


@pytest.mark.parametrize("kind", Kind)
def test_every_kind_comes_back_as_it_was(kind: Kind) -> None:
    assert decode(kind, json.loads(json.dumps(encode(SAMPLE[kind])))) == SAMPLE[kind]


@pytest.mark.parametrize(("payload", "data"), FULLEST)
def test_fields_are_named_as_the_interface_names_them(
    payload: Payload, data: dict[str, object]
) -> None:
    assert encode(payload) == data
    assert decode(KIND_OF[type(payload)], data) == payload


def test_the_table_of_payloads_knows_every_kind() -> None:
    assert set(PAYLOADS) == set(Kind)
    assert len(set(PAYLOADS.values())) == len(Kind)


def test_none_stands_for_a_field_left_out() -> None:
    assert decode(Kind.STARTED, {"rate_ml_h": 60, "site": None}) == Started(60)


def test_plain_values_are_plain() -> None:
    """No enum of ours reaches the JSON encoder."""
    data = encode(FateRecorded(Fate.RETURNED))

    assert (data, type(data["fate"])) == ({"fate": "returned"}, str)


def test_impossible_values_are_refused_on_the_way_in() -> None:
    with pytest.raises(Invalid) as invalid:
        decode(Kind.RATE_SET, {"rate_ml_h": -1})

    assert (invalid.value.field, invalid.value.message) == (
        "rate_ml_h",
        "-1 is impossible; expected 0 to 10000",
    )


@pytest.mark.parametrize(
    "text",
    ["2026-03-03T10:00:00Z", "2026-03-03T23:00:00+13:00", "2026-03-03T05:00:00.000-05:00"],
)
def test_instants_are_read_with_any_offset_and_kept_in_utc(text: str) -> None:
    instant = read_instant(text)

    assert (instant, instant.tzinfo) == (at(0), UTC)


def test_instants_are_written_in_utc_to_the_second() -> None:
    eastward = datetime(2026, 3, 3, 23, 30, tzinfo=timezone(timedelta(hours=13)))

    assert write_instant(eastward) == "2026-03-03T10:30:00Z"
