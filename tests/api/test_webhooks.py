"""Webhooks over the JSON interface: the secret is answered once, and what was sent is listed."""

import pytest
from sqlalchemy import text

from server.cli import main
from server.domain.delivery import Answer
from tests.api.board_api import BoardApi, fields_of, problem_of
from tests.services.mail import TAKEN, answered, stored

BODY = {
    "id": "pager",
    "name": "Pagers",
    "address": "https://pager.example/in?key=1",
    "stages": ["escalate", "overdue"],
    "wards": ["w1"],
}
SHOWN = {
    **BODY,
    "stages": ["overdue", "escalate"],
    "state": "on",
    "since_at": None,
    "off_why": None,
}
AT = "2026-03-03T12:00:00Z"


@pytest.fixture
def pager(ward: BoardApi) -> BoardApi:
    """A ward with one webhook."""
    ward.made("/api/webhooks", BODY, "administrator")
    return ward


def listed(api: BoardApi, who: str = "administrator") -> object:
    """The webhooks of the ward as somebody sees them."""
    return api.get("/api/webhooks", who, ward_id="w1").json()


def test_a_secret_is_answered_when_it_is_made_and_never_again(ward: BoardApi) -> None:
    made = ward.made("/api/webhooks", BODY, "administrator")
    first = stored(ward.store).secret
    changed = ward.made("/api/webhooks", BODY | {"name": "Bleeps"}, "administrator")
    turned = ward.made("/api/webhooks/pager/secret", {}, "administrator")

    assert made == SHOWN | {"secret": first}
    assert changed == SHOWN | {"name": "Bleeps", "secret": None}
    assert turned == SHOWN | {"name": "Bleeps", "secret": stored(ward.store).secret}
    assert turned["secret"] != first
    assert listed(ward) == [SHOWN | {"name": "Bleeps"}]
    assert listed(ward, "charge_nurse") == [SHOWN | {"name": "Bleeps", "address": "pager.example"}]


def test_a_repeat_is_answered_without_the_secret_and_none_is_kept(ward: BoardApi) -> None:
    sent = [
        ward.post(path, body, "administrator", key=path)
        for path, body in (("/api/webhooks", BODY), ("/api/webhooks/pager/secret", {}))
        for _ in range(2)
    ]

    with ward.store.read() as session:
        kept = session.rows(text("SELECT response FROM idempotency"))
        rows = session.rows(text("SELECT secret, old_secret FROM webhook"))
    assert [answer.json()["secret"] is None for answer in sent] == [False, True, False, True]
    assert "whsec_" not in f"{kept}{rows}"


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"address": "http://pager.example/"}, "address"),
        ({"stages": []}, "stages"),
        ({"stages": ["loud"]}, "stages"),
        ({"wards": []}, "wards"),
        ({"wards": ["none"]}, "wards"),
    ],
    ids=str,
)
def test_what_is_wrong_is_refused_by_its_field(
    ward: BoardApi, wrong: dict[str, object], field: str
) -> None:
    answer = ward.post("/api/webhooks", BODY | wrong, "administrator")

    assert answer.status_code == 422
    assert [name.split(".")[0] for name in fields_of(answer)] == [field]
    assert listed(ward) == []


def test_a_trial_is_sent_listed_and_sent_again(pager: BoardApi) -> None:
    path = "/api/webhooks/pager/messages"
    trial = pager.made(path, {"ward_id": "w1"}, "administrator")
    early = pager.post(path, {"message_id": trial["id"]}, "administrator")
    answered(pager.store, pager.clock.now, TAKEN)
    (taken,) = pager.get(path, "charge_nurse").json()
    again = pager.made(path, {"message_id": trial["id"]}, "administrator")

    waiting = {
        "id": trial["id"],
        "reminder_id": None,
        "ward_id": "w1",
        "made_at": AT,
        "stale_at": "2026-03-03T12:30:00Z",
        "state": "waiting",
        "tries": 0,
        "next_at": AT,
        "tried_at": None,
        "answer": None,
        "ended_at": None,
    }
    tried = {"tries": 1, "tried_at": AT, "answer": "HTTP 204"}
    assert trial == waiting
    assert (early.status_code, problem_of(early)["detail"]) == (409, "It waits to be sent.")
    assert taken == waiting | tried | {"state": "delivered", "ended_at": AT}
    assert again == waiting | tried


@pytest.mark.parametrize("body", [{}, {"ward_id": "w1", "message_id": "m1"}], ids=str)
def test_a_message_is_a_trial_or_one_again_and_not_both(
    pager: BoardApi, body: dict[str, str]
) -> None:
    answer = pager.post("/api/webhooks/pager/messages", body, "administrator")

    assert (answer.status_code, fields_of(answer)) == (422, ["message_id"])


def test_it_is_paused_turned_off_and_put_on_and_removed(pager: BoardApi) -> None:
    def put(state: str) -> object:
        pager.made("/api/webhooks/pager/state", {"state": state}, "administrator")
        return listed(pager)

    paused, going = put("paused"), put("on")
    pager.made("/api/webhooks/pager/messages", {"ward_id": "w1"}, "administrator")
    answered(pager.store, pager.clock.now, Answer(410))
    off = listed(pager)

    gone = "it answered that it is gone for good (HTTP 410)"
    assert (paused, going) == ([SHOWN | {"state": "paused", "since_at": AT}], [SHOWN])
    assert off == [SHOWN | {"state": "off", "since_at": AT, "off_why": gone}]
    assert (put("on"), put("removed")) == ([SHOWN], [])


def test_the_check_of_the_command_line_says_how_each_stands(
    pager: BoardApi, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for number, state in enumerate(("paused", "on")):
        other = {"id": f"w{number}", "name": f"Bridge {number}"}
        pager.made("/api/webhooks", BODY | other, "administrator")
        pager.made(f"/api/webhooks/w{number}/state", {"state": state}, "administrator")
    pager.made("/api/webhooks/pager/messages", {"ward_id": "w1"}, "administrator")
    answered(pager.store, pager.clock.now, Answer(410))
    monkeypatch.setenv("FOURTH_HOUR_DATABASE", pager.store.address)

    result = main(["check"])

    said = [one for one in capsys.readouterr().out.splitlines() if "Webhook: " in one]
    assert result == 0
    assert said == [
        f"holds   Webhook: Bridge 0: paused since {AT}",
        "holds   Webhook: Bridge 1: on",
        f"holds   Webhook: Pagers: OFF since {AT}, it answered that it is gone for good (HTTP 410)",
    ]
