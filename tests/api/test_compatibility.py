"""Whether a unit suits its patient, as the interface says it; and a start that is refused."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from server.domain.encoding import write_instant
from server.site import example
from tests.api.board_api import CHECKED, NOON, PATIENT, SOUND, BoardApi
from tests.api.conftest import opened_api
from tests.domain.sites import PRODUCTS

SIGNED_OFF = '[signed_off]\nname = "Dr Wren Okafor"\non = 2026-02-01\n'
UNSIGNED = "No clinician has signed the compatibility table of this site."


@pytest.fixture
def signed(sqlite_template: Path, tmp_path: Path) -> Iterator[BoardApi]:
    """A board with a site's own folder: a signed table and invented products."""
    folder = tmp_path / "site"
    folder.mkdir()
    table = example("compatibility.toml").replace('[signed_off]\nname = ""\non = ""\n', SIGNED_OFF)
    (folder / "compatibility.toml").write_text(table, "utf-8")
    (folder / "products.csv").write_text(PRODUCTS, "utf-8")
    with opened_api(sqlite_template, tmp_path, site=folder) as board:
        board.ward()
        yield board


def ordered(board: BoardApi, **fields: Any) -> str:
    """One unit ordered for a patient of group O RhD negative, and checked as policy wants."""
    board.made("/api/patients", {**PATIENT, "id": "p1", "blood_group": "O-"})
    order = {
        "id": "o1", "patient_id": "p1", "ward_id": "w1", "bed": "4", "component": "red_cells",
        "units": 1, "volume_ml": 280, "urgency": "routine", **fields,
    }  # fmt: skip
    episode_id: str = board.made("/api/orders", order)["episode_ids"][0]
    return episode_id


def checked(board: BoardApi, episode_id: str, **issued: Any) -> None:
    """Issue the unit, inspect it and check identity."""
    board.record(episode_id, "issued", NOON, **issued)
    board.record(episode_id, "inspected", NOON, **SOUND)
    board.record(episode_id, "identity_checked", NOON, **CHECKED)


def test_a_unit_that_suits_says_so_with_its_source(signed: BoardApi) -> None:
    taken = write_instant(NOON - timedelta(minutes=60))
    unit = ordered(
        signed, requirements=["irradiated", "cmv_negative", "warm"], sample_taken_at=taken
    )
    checked(signed, unit, blood_group="O-", product_code="E9990V00", attributes=["cmv_negative"])

    found = signed.get(f"/api/episodes/{unit}").json()["compatibility"]

    assert {name: found[name] for name in ("level", "abo", "rhd", "words", "attributes")} == {
        "level": "first",
        "abo": "first",
        "rhd": "first",
        "words": ["Red cells, unit O−, patient O−: first choice."],
        "attributes": ["cmv_negative"],
    }
    assert (found["signed"], found["table"]["signed_by"], found["table"]["signed_on"]) == (
        "Signed off by Dr Wren Okafor on 1 February 2026.",
        "Dr Wren Okafor",
        "2026-02-01",
    )
    assert [(one["words"], one["state"]) for one in found["requirements"]] == [
        ("irradiated", "met"),
        ("CMV negative", "met"),
        ("warm", "unverified"),
    ]
    assert found["sample_valid_until"] == write_instant(NOON + timedelta(minutes=71 * 60))
    assert [one["code"] for one in found["findings"]] == ["requirements_unverified"]
    assert found["authority"].startswith("The laboratory’s issue decision is the authority")
    assert found["source"]


def test_a_wrong_group_refuses_the_start_until_a_reason_is_given_that_stays(
    signed: BoardApi,
) -> None:
    unit = ordered(signed)
    checked(signed, unit, blood_group="A-")

    refused = signed.refused(unit, "started", NOON, rate_ml_h=60)
    signed.record(unit, "started", NOON, rate_ml_h=60, override_reason="massive bleeding")
    signed.clock.now = NOON + timedelta(minutes=5)
    signed.record(unit, "completed", signed.clock.now)
    after = signed.get(f"/api/episodes/{unit}").json()
    (row,) = signed.get("/api/board", ward_id="w1").json()["rows"]

    assert refused.status_code == 409
    assert refused.json()["detail"] == (
        "The start is refused: Red cells, unit A−, patient O−: never: stop."
    )
    assert after["override"] == {
        "reason": "massive bleeding",
        "against": ["Red cells, unit A−, patient O−: never: stop"],
    }
    assert (row["overridden"], after["compatibility"]["level"]) == (True, "never")


def test_an_advice_names_its_code_detail_and_source(signed: BoardApi) -> None:
    unit = ordered(signed)
    signed.record(unit, "issued", NOON, blood_group="O-", expires_at=NOON - timedelta(minutes=1))

    advices = signed.get(f"/api/episodes/{unit}").json()["advices"]

    assert advices == [
        {
            "code": "unit_expired",
            "detail": "The unit expired at 11:59.",
            "source": "the label",
        }
    ]


def test_the_shipped_table_is_unsigned_and_says_so(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON, blood_group="O-")

    found = ward.get("/api/episodes/e1").json()

    assert found["compatibility"]["signed"] == UNSIGNED
    assert found["compatibility"]["table"]["signed_by"] is None
    assert {one["code"] for one in found["advices"]} == {"group_emergency_only", "table_unsigned"}
    assert found["override"] is None


def test_before_the_issue_nothing_is_judged(ward: BoardApi) -> None:
    found = ward.get("/api/episodes/e1").json()["compatibility"]

    assert (found["level"], found["abo"], found["rhd"], found["source"]) == (None,) * 4
    assert (found["words"], found["findings"]) == (
        ["Nothing is judged before the unit is issued."],
        [],
    )


@pytest.mark.parametrize(
    ("requirements", "message"),
    [
        (["iradiated"], "“iradiated” is unknown; expected irradiated"),
        (["irradiated", "irradiated"], "“irradiated” is named twice; expected each once"),
    ],
)
def test_a_wrong_requirement_is_refused(
    api: BoardApi, requirements: list[str], message: str
) -> None:
    api.ward()
    api.made("/api/patients", {**PATIENT, "id": "p1"})
    body = {
        "patient_id": "p1", "ward_id": "w1", "bed": "4", "component": "red_cells",
        "units": 1, "urgency": "routine", "requirements": requirements,
    }  # fmt: skip

    answer = api.post("/api/orders", body)

    assert (answer.status_code, answer.json()["errors"]) == (
        422,
        [{"field": "requirements", "message": message}],
    )


def test_an_unknown_attribute_is_refused(ward: BoardApi) -> None:
    answer = ward.refused("e1", "issued", NOON, attributes=["cmv_negativ"])

    assert (answer.status_code, answer.json()["errors"]) == (
        422,
        [
            {
                "field": "attributes",
                "message": "“cmv_negativ” is unknown; expected cmv_negative",
            }
        ],
    )
