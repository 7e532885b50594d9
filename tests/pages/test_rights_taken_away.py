"""What somebody may no longer holds at once where it was said, and soon in every other process."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.domain.words import Role
from server.pages.boards.keeper import Keeper
from server.pages.visitors import COOKIE
from server.services.tokens import make_token
from tests.domain.builders import at
from tests.pages.hospital import Hospital, Visit
from tests.services.people import NURSE

BOARD = "/wards/w1/board"
TAKEN: list[dict[str, Any]] = [
    {"wards": ["w2"]},
    {"role": "manager", "wards": ["w1"]},
    {"wards": ["w1"], "active": False},
]
"""What a program says of the nurse: no longer on this ward, of another role, no longer here."""


def change(hospital: Hospital, **said: Any) -> None:
    """Have a program change the nurse by the interface."""
    with hospital.store.write() as session:
        secret = make_token(session, "staff lists", Role.ADMINISTRATOR, None, now=at(0))
    body = {"id": NURSE.id, "name": NURSE.name, "role": "bedside_nurse"} | said
    answer = hospital.client.post(
        "/api/staff", json=body, headers={"Authorization": f"Bearer {secret}"}
    )
    assert answer.status_code == 201, answer.text


@pytest.mark.parametrize("taken", TAKEN, ids=["ward", "role", "work"])
def test_it_holds_at_once_in_the_process_that_was_told(
    hospital: Hospital, taken: dict[str, Any]
) -> None:
    nurse = hospital.visit(NURSE)
    before = [nurse.get(path).status_code for path in (BOARD, "/mine")]

    change(hospital, **taken)

    after = [nurse.get(path).status_code for path in (BOARD, f"{BOARD}/rows", "/mine")]
    assert (before, after) == ([200, 200], [303, 401, 303])


@pytest.mark.parametrize("taken", TAKEN, ids=["ward", "role", "work"])
def test_another_process_knows_it_when_it_looks_twice_a_second(
    hospital: Hospital, taken: dict[str, Any]
) -> None:
    other = create_app(hospital.app.state.settings, run_jobs=False, clock=hospital.clock)
    with TestClient(other) as client:
        nurse = Visit(client, {"cookie": f"{COOKIE}={hospital.secret_of(NURSE)}"})
        before = [nurse.get(path).status_code for path in (BOARD, "/mine")]

        change(hospital, **taken)
        Keeper(other).keep()

        after = [nurse.get(path).status_code for path in (BOARD, f"{BOARD}/rows", "/mine")]
    assert (before, after) == ([200, 200], [303, 401, 303])


def test_what_stays_as_it_is_signs_nobody_out(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)
    nurse.see(BOARD)

    change(hospital, wards=["w1"], name="Nina Sand-Marsh")
    Keeper(hospital.app).keep()

    assert "Nina Sand-Marsh" in nurse.see("/mine").text
