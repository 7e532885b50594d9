"""A label by the clocks of a ward, for those who may read there."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.read_label import Label, instant_on_ward, read_label
from tests.services.charting import Charting
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    PROGRAM,
)

BAG = "=A99992600000100=%5100=<E0398V00&>0260312359"
LONDON = ZoneInfo("Europe/London")


def read(charting: Charting, scan: str, ward_id: str | None = "w1", actor: Actor = NURSE) -> Label:
    """Read a scan."""
    with charting.store.read() as session:
        return read_label(session, actor, scan, ward_id=ward_id)


@pytest.mark.parametrize(
    ("ward_id", "actor", "expires_at"),
    [
        ("w1", NURSE, datetime(2026, 1, 31, 23, 59, tzinfo=UTC)),
        ("w2", OUTSIDER, datetime(2026, 1, 31, 10, 59, tzinfo=UTC)),
        (None, NURSE, None),
    ],
)
def test_a_label_means_the_clocks_of_its_ward(
    charting: Charting, ward_id: str | None, actor: Actor, expires_at: datetime | None
) -> None:
    label = read(charting, BAG, ward_id, actor)

    expiry = label.expiry
    assert expiry is not None
    assert (f"{expiry.at:%Y-%m-%d %H:%M}", label.expires_at) == ("2026-01-31 23:59", expires_at)


def test_what_a_bag_says(charting: Charting) -> None:
    label = read(charting, BAG)

    unit, product, group = label.unit_number, label.product, label.group
    assert unit is not None
    assert product is not None
    assert group is not None
    assert (unit.number, product.code, label.division, group.group) == (
        "A999926000001",
        "E0398",
        "00",
        "O+",
    )
    assert (label.record_number, label.birth_date, label.recipient_number) == (None, None, None)
    assert (label.staff_number, label.stops) == (None, ())


@pytest.mark.parametrize(
    ("scan", "facts"),
    [
        ("=<E0398V99=,000025", {"division": "000025"}),
        ("=,000025", {"division": "000025", "product": None}),
        ("T000001", {"record_number": "T000001"}),
        (
            "=+02000=#0119700102&#0108H1234567",
            {"record_number": "H1234567", "birth_date": date(1970, 1, 2)},
        ),
        ("8018735005385000000011", {"recipient_number": "735005385000000011"}),
        ("8017735005385000000011", {"staff_number": "735005385000000011"}),
        ("='A9999ABC123", {"staff_number": "ABC123"}),
        ("=%5100", {"stops": (), "expiry": None, "expires_at": None}),
        ("=%Mq00", {"stops": ("it is in quarantine or on hold",)}),
        (
            "=A99992600000107=%5400=<E0398100",
            {
                "stops": (
                    "it is not the label of a bag: test tube",
                    "it is for its donor only and marked as a biohazard",
                    "it is for its donor only",
                )
            },
        ),
        ("=%5300=<E0398100", {"stops": ("it is for its donor only",)}),
    ],
)
def test_what_other_labels_say(charting: Charting, scan: str, facts: dict[str, object]) -> None:
    label = read(charting, scan)

    assert {name: getattr(label, name) for name in facts} == facts


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, ADMINISTRATOR, PROGRAM])
def test_everybody_of_the_ward_reads(charting: Charting, actor: Actor) -> None:
    assert read(charting, "=%5100", actor=actor).group is not None


@pytest.mark.parametrize("actor", [OUTSIDER, OUTSIDE_CHARGE])
def test_nobody_of_another_ward_reads_by_its_clocks(charting: Charting, actor: Actor) -> None:
    with pytest.raises(Forbidden):
        read(charting, "=%5100", actor=actor)


def test_a_ward_that_is_not_there(charting: Charting) -> None:
    with pytest.raises(NotFound):
        read(charting, "=%5100", "none", PROGRAM)


def test_a_malformed_scan_is_refused(charting: Charting) -> None:
    with pytest.raises(Invalid, match="scan: the group is cut short"):
        read(charting, "=%510")


def test_a_site_says_what_its_record_numbers_look_like(charting: Charting) -> None:
    with charting.store.read() as session:
        session.site = replace(session.site, record_number=re.compile("[0-9]{8}"))
        assert read_label(session, NURSE, "12345678").record_number == "12345678"
        with pytest.raises(Invalid):
            read_label(session, NURSE, "1234567")


@pytest.mark.parametrize(
    ("local", "instant"),
    [
        ("2026-07-01T23:59", "2026-07-01T22:59:00+00:00"),
        ("2026-01-01T23:59", "2026-01-01T23:59:00+00:00"),
        ("2026-10-25T01:30", "2026-10-25T00:30:00+00:00"),
        ("2026-03-29T01:30", "2026-03-29T00:30:00+00:00"),
    ],
    ids=["summer", "winter", "shown twice", "never shown"],
)
def test_in_doubt_the_earlier_instant_counts(local: str, instant: str) -> None:
    at = datetime.fromisoformat(local)

    assert instant_on_ward(at, LONDON) == datetime.fromisoformat(instant)
