"""What is typed into which form of a unit in some phase, and the payload that it becomes."""

from dataclasses import dataclass, field
from typing import Final

from server.domain.payloads import (
    Acknowledged,
    Assigned,
    Available,
    Cancelled,
    CauseGiven,
    CheckedItem,
    Completed,
    Confirmed,
    Discarded,
    FateRecorded,
    Flushed,
    Inspected,
    Issued,
    Note,
    Observed,
    Paused,
    Payload,
    RateSet,
    Received,
    Resumed,
    Returned,
    SetChanged,
    SetHung,
    Spiked,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.words import BloodGroup, ClockName, Confirmation, Consciousness, Fate
from tests.domain.builders import at

Typed = dict[str, str | list[str]]
ITEMS = ("name", "date_of_birth", "record_number", "blood_group", "expiry", "unit_number")
ALL_MATCH: Typed = {f"item_{item}": "true" for item in ITEMS}
MATCHED = tuple(CheckedItem(item, matched=True) for item in ITEMS)


@dataclass(frozen=True)
class Recording:
    """What is typed into which form of a unit in some phase, and the payload it becomes."""

    phase: str
    form: str
    expected: Payload
    typed: Typed = field(default_factory=dict)


RECORDINGS: Final[dict[str, Recording]] = {
    "available": Recording("requested", "issue-available", Available()),
    "cancelled": Recording(
        "requested", "issue-cancelled", Cancelled("not wanted"), {"reason": "not wanted"}
    ),
    "issued": Recording(
        "requested",
        "issue-issued",
        Issued(
            removed_at=at(25),
            unit_number="A999026123456",
            product_code="E0336",
            division="A0",
            blood_group=BloodGroup.O_NEG,
            expires_at=at(60 * 24 * 3 + 13 * 60 + 59),
            volume_ml=275.5,
        ),
        {
            "removed_at_time": "10:25",
            "unit_number": "A9990 26 123456 C",
            "product_code": "E0336VA0",
            "blood_group": "O-",
            "expires_at_time": "23:59",
            "expires_at_date": "2026-03-06",
            "volume_ml": "275,5",
        },
    ),
    "issued, nothing known": Recording("requested", "issue-issued", Issued()),
    "received": Recording("issued", "receipt-received", Received()),
    "inspected, sound": Recording("issued", "receipt-inspected", Inspected()),
    "inspected": Recording(
        "issued",
        "receipt-inspected",
        Inspected(leak=True, discoloured=True),
        {"findings": ["leak", "discoloured"]},
    ),
    "observed": Recording(
        "issued",
        "baseline-observed",
        Observed(
            temperature_c=36.8,
            pulse_per_min=78,
            respirations_per_min=16,
            systolic_mmhg=124,
            diastolic_mmhg=76,
            spo2_percent=97,
            on_oxygen=False,
            consciousness=Consciousness.NEW_CONFUSION,
            symptoms=("rash", "dark_urine", "hears bells"),
        ),
        {
            "temperature_c": "36,8",
            "pulse_per_min": "78",
            "respirations_per_min": "16",
            "systolic_mmhg": "124",
            "diastolic_mmhg": "76",
            "spo2_percent": "97",
            "on_oxygen": "false",
            "consciousness": "new_confusion",
            "symptoms": ["rash", "dark_urine"],
            "symptoms_other": "hears bells",
        },
    ),
    "observed, a part": Recording(
        "running", "first-observed", Observed(pulse_per_min=80), {"pulse_per_min": "80"}
    ),
    "confirmed, order and consent": Recording(
        "requested", "consent-confirmed", Confirmed(Confirmation.ORDER_CONSENT)
    ),
    "confirmed, group and sample": Recording(
        "issued", "sample-confirmed", Confirmed(Confirmation.GROUP_SAMPLE)
    ),
    "confirmed, line and access": Recording(
        "issued",
        "access-confirmed",
        Confirmed(Confirmation.ACCESS, "left forearm", "18G"),
        {"site": "left forearm", "gauge": "18G"},
    ),
    "confirmed, collected": Recording(
        "issued", "issue-confirmed", Confirmed(Confirmation.COLLECTED)
    ),
    "confirmed, rate reviewed": Recording(
        "running", "rate-confirmed", Confirmed(Confirmation.RATE_REVIEWED)
    ),
    "confirmed, reassessed": Recording(
        "ended", "reassess-confirmed", Confirmed(Confirmation.REASSESSED)
    ),
    "rate_set, as a review": Recording(
        "running", "rate-rate_set", RateSet(150), {"rate_ml_h": "150"}
    ),
    "spiked": Recording("issued", "line-spiked", Spiked()),
    "set_hung": Recording("issued", "line-set_hung", SetHung()),
    "started": Recording(
        "checked",
        "start-started",
        Started(55, "left forearm"),
        {"rate_ml_h": "55", "site": "left forearm"},
    ),
    "started, against a refusal": Recording(
        "issued",
        "start-started",
        Started(60, override_reason="bleeding, the consultant decided"),
        {"rate_ml_h": "60", "override_reason": "bleeding, the consultant decided"},
    ),
    "rate_set": Recording("running", "running-rate_set", RateSet(150), {"rate_ml_h": "150"}),
    "volume_read": Recording(
        "running", "running-volume_read", VolumeRead(12.5), {"given_ml": "12.5"}
    ),
    "paused": Recording(
        "running", "running-paused", Paused("to the X-ray"), {"reason": "to the X-ray"}
    ),
    "paused, without a reason": Recording("running", "running-paused", Paused()),
    "resumed": Recording("paused", "running-resumed", Resumed(100), {"rate_ml_h": "100"}),
    "resumed, as before": Recording("paused", "running-resumed", Resumed()),
    "set_changed": Recording("running", "running-set_changed", SetChanged()),
    "completed": Recording("running", "end-completed", Completed(280), {"given_ml": "280"}),
    "stopped": Recording(
        "running",
        "end-stopped",
        Stopped("lost venous access", 40),
        {"reason": "lost venous access", "given_ml": "40"},
    ),
    "flushed": Recording("ended", "flush-flushed", Flushed(5), {"volume_ml": "5"}),
    "fate": Recording("ended", "bag-fate", FateRecorded(Fate.TRANSFUSED), {"fate": "transfused"}),
    "returned": Recording(
        "issued", "bag-returned", Returned("not needed"), {"reason": "not needed"}
    ),
    "discarded": Recording("issued", "bag-discarded", Discarded("warm"), {"reason": "warm"}),
    "assigned": Recording(
        "issued", "record-assigned", Assigned("nurse-2"), {"nurse_id": "nurse-2"}
    ),
    "acknowledged": Recording(
        "issued",
        "record-acknowledged",
        Acknowledged(ClockName.START, "nurse-2"),
        {"clock": "start", "staff_id": "nurse-2"},
    ),
    "acknowledged, one touch": Recording(
        "overdue", "has-first_check-1-acknowledged", Acknowledged(ClockName.FIRST_CHECK, "nurse-1")
    ),
    "note": Recording(
        "requested", "record-note", Note("two lines\r\nlong"), {"text": "two lines\r\nlong"}
    ),
    "cause_given": Recording(
        "overdue",
        "record-cause_given",
        CauseGiven(ClockName.FIRST_CHECK, "break or handover", "both at once", 1),
        {"clock": "first_check:1", "cause": "break or handover", "text": "both at once"},
    ),
}
