"""`POST /api/labels`: what a label says, why one is refused, and that nothing of it is kept."""

from typing import Any

import pytest

from tests.api.board_api import BoardApi, problem_of

PATH = "/api/labels"
BAG = "=A99992600000163=%51E0=<E0398V00&>0260312359"
UNKNOWN = "begins with a data identifier that is not known; expected one of ISBT 128"
NOTHING: dict[str, Any] = {
    "unit_number": None,
    "check_character": None,
    "product_code": None,
    "collection": None,
    "division": None,
    "blood_group": None,
    "expires_local": None,
    "expires_at": None,
    "record_number": None,
    "birth_date": None,
    "recipient_number": None,
    "staff_number": None,
    "stops": [],
    "attributes": [],
}
BAG_STRUCTURES: list[dict[str, Any]] = [
    {
        "kind": "unit_number",
        "data_structure": "001",
        "number": "A999926000001",
        "flags": "68",
        "facility": "A9999",
        "year": "26",
        "serial": "000001",
        "check_character": "8",
        "flag_says": "carries the check value",
        "is_of_bag": True,
        "stops": None,
    },
    {
        "kind": "group",
        "data_structure": "002",
        "code": "51",
        "abo": "O",
        "rhd": "pos",
        "use": "default",
        "group": "O+",
        "stops": None,
        "ask_special_testing": False,
        "phenotype": {
            "K": "-",
            "C": "-",
            "c": "+",
            "E": "+",
            "e": "+",
            "mia_mur": None,
        },
    },
    {
        "kind": "product",
        "data_structure": "003",
        "code": "E0398",
        "collection": "V",
        "division": "00",
        "collection_says": "volunteer, allogeneic",
        "stops": None,
    },
    {
        "kind": "expiry",
        "data_structure": "005",
        "at": "2026-01-31T23:59",
        "with_time": True,
    },
]


def read(api: BoardApi, scan: str, **more: Any) -> dict[str, Any]:
    """Read a scan that has to be good."""
    answer = api.post(PATH, {"scan": scan} | more)
    assert answer.status_code == 200, answer.text
    said: dict[str, Any] = answer.json()
    return said


def test_a_whole_bag(ward: BoardApi) -> None:
    said = read(ward, BAG.replace("63=", "68="), ward_id="w1")

    assert said == NOTHING | {
        "unit_number": "A999926000001",
        "check_character": "8",
        "product_code": "E0398",
        "collection": "V",
        "division": "00",
        "blood_group": "O+",
        "expires_local": "2026-01-31T23:59",
        "expires_at": "2026-01-31T23:59:00Z",
        "attributes": ["k_negative"],
        "structures": BAG_STRUCTURES,
    }


@pytest.mark.parametrize(
    ("scan", "facts"),
    [
        (
            "=%Mq00",
            {"stops": ["it is in quarantine or on hold"], "attributes": ["quarantined"]},
        ),
        ("T000001\r\n", {"record_number": "T000001"}),
        ("]d28018735005385000000011\x1d801900001", {"recipient_number": "735005385000000011"}),
        ("=#0119700102", {"birth_date": "1970-01-02"}),
        ("='A9999ABC123", {"staff_number": "ABC123"}),
        ("=>014032", {"expires_local": "2014-02-01T23:59"}),
    ],
)
def test_one_label(ward: BoardApi, scan: str, facts: dict[str, Any]) -> None:
    said = read(ward, scan)

    assert {name: said[name] for name in NOTHING} == NOTHING | facts


def test_antigens_come_by_name(ward: BoardApi) -> None:
    (said,) = read(ward, "=\\" + "9" * 15 + "196")["structures"]

    assert said == {
        "kind": "antigens",
        "data_structure": "012",
        "results": {"CMV": "neg"},
        "more": "96",
        "hbs_negative": True,
        "iga_deficient": False,
    }


@pytest.mark.parametrize(
    ("scan", "message"),
    [
        ("=%510", "the group is cut short; expected 4 characters"),
        (BAG, "carries a check value that does not fit its number; scan it again"),
        (
            "=a99992600000100",
            f"{UNKNOWN}; capital and small letters look swapped: is Caps Lock on?",
        ),
    ],
)
def test_a_malformed_scan_is_refused_with_its_reason(
    ward: BoardApi, scan: str, message: str
) -> None:
    answer = ward.post(PATH, {"scan": scan})

    assert answer.status_code == 422
    assert problem_of(answer)["errors"] == [{"field": "scan", "message": message}]


@pytest.mark.parametrize(
    "body",
    [{}, {"scan": ""}, {"scan": 7}, {"scan": "9" * 1001}, {"scan": "T000001", "bag": "x"}],
)
def test_a_wrong_body_is_refused(ward: BoardApi, body: dict[str, Any]) -> None:
    assert ward.post(PATH, body).status_code == 422


def test_a_scan_is_read_for_the_wards_of_the_caller(ward: BoardApi) -> None:
    ward.ward("w2")
    body = {"scan": "=%5100", "ward_id": "w1"}

    answers = [
        ward.client.post(PATH, json=body, headers=ward.headers("bedside_nurse", (ward_id,)))
        for ward_id in ("w1", "w2")
    ]

    assert [answer.status_code for answer in answers] == [200, 403]


def test_a_scan_in_an_address_is_not_looked_at(ward: BoardApi) -> None:
    answer = ward.client.get(f"{PATH}?scan=T000001", headers=ward.headers("interface"))

    assert answer.status_code == 405


def test_a_repeat_under_a_key_is_answered_alike_and_another_scan_is_not(ward: BoardApi) -> None:
    first = ward.post(PATH, {"scan": "=%5100"}, key="k1")
    again = ward.post(PATH, {"scan": "=%5100"}, key="k1")
    other = ward.post(PATH, {"scan": "=%0600"}, key="k1")

    assert (again.status_code, again.json()) == (200, first.json())
    assert other.status_code == 409


def test_nothing_of_a_scan_reaches_the_log(
    ward: BoardApi, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(0)

    ward.post(PATH, {"scan": "T987654"})
    ward.post(PATH, {"scan": "=#0119709902"})

    assert [text for text in ("T987654", "19709902") if text in caplog.text] == []


def test_an_issue_keeps_what_tells_the_bag(ward: BoardApi) -> None:
    said = ward.record(
        "e1",
        "issued",
        ward.clock.now,
        unit_number="=A99992600000100",
        product_code="E0398",
        division="00",
    )["episode"]

    shown = (said["unit_number"], said["product_code"], said["division"])
    assert shown == ("A999926000001", "E0398", "00")


def test_one_bag_is_not_issued_to_two_patients(ward: BoardApi) -> None:
    ward.episode("2")
    label = {"unit_number": "A999926000001", "product_code": "E0398V00"}
    ward.record("e1", "issued", ward.clock.now, **label)

    answer = ward.refused("e2", "issued", ward.clock.now, **label)

    assert answer.status_code == 409
    problem = problem_of(answer)
    assert problem["detail"].startswith("This unit is already issued for another request: stop")
    assert [word for word in ("e1", "p1", "Alder") if word in answer.text] == []
    assert ward.get("/api/episodes/e2").json()["phase"] == "requested"
