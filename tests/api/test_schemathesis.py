"""Requests made from the OpenAPI document, good and bad: no fault, no answer it does not name."""

from typing import Any, Final

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import ignored_auth, positive_data_acceptance

from server.services.tick import tick
from tests.api.board_api import BoardApi

EXAMPLES: Final = {"sqlite": 15, "postgresql": 5}
# A stream would never end.
OPERATIONS: Final = (
    "GET /api/audit",
    "GET /api/board",
    "GET /api/breaches",
    "GET /api/cover",
    "GET /api/due",
    "GET /api/episodes/{id}",
    "GET /api/episodes/{id}/breaches/{clock}/{n}/why",
    "GET /api/orders",
    "GET /api/patients/{id}",
    "GET /api/plans/{id}",
    "GET /api/policies",
    "GET /api/policies/{id}",
    "GET /api/reminders",
    "GET /api/reminders/load",
    "GET /api/review",
    "GET /api/shifts",
    "GET /api/staff",
    "GET /api/wards",
    "GET /api/webhooks",
    "GET /api/webhooks/{id}/messages",
    "GET /api/workload",
    "GET /healthz",
    "GET /metrics",
    "GET /readyz",
    "POST /api/cover",
    "POST /api/cover/{id}/end",
    "POST /api/episodes",
    "POST /api/episodes/{id}/events",
    "POST /api/labels",
    "POST /api/orders",
    "POST /api/patients",
    "POST /api/patients/search",
    "POST /api/patients/{id}/observations",
    "POST /api/plans",
    "POST /api/plans/{id}/accept",
    "POST /api/plans/{id}/discard",
    "POST /api/shifts",
    "POST /api/staff",
    "POST /api/wards",
    "POST /api/webhooks",
    "POST /api/webhooks/{id}/messages",
    "POST /api/webhooks/{id}/secret",
    "POST /api/webhooks/{id}/state",
)
WHO: Final = {
    "/api/audit": "manager",
    "/api/wards": "administrator",
    "/api/staff": "administrator",
    "/api/webhooks": "administrator",
    "/api/webhooks/{id}/messages": "administrator",
    "/api/webhooks/{id}/secret": "administrator",
    "/api/webhooks/{id}/state": "administrator",
    "/api/plans": "charge_nurse",
    "/api/plans/{id}/accept": "charge_nurse",
    "/api/plans/{id}/discard": "charge_nurse",
}


@pytest.fixture(scope="module")
def board(either_api: BoardApi) -> BoardApi:
    """A board with ward `0`, patient `p0` and episode `e0`, on each engine."""
    either_api.ward("0")
    either_api.episode("0", "0")
    tick(either_api.store, now=either_api.clock.now)
    return either_api


@pytest.fixture(scope="module")
def document(board: BoardApi) -> Any:
    """The document of the running board."""
    app = board.client.app  # type: ignore[attr-defined]  # a TestClient has it
    return schemathesis.openapi.from_asgi("/api/openapi.json", app)


def test_every_operation_is_tried(document: Any) -> None:
    found = {operation.ok().label for operation in document.get_all_operations()}

    assert found - {"GET /api/stream"} == set(OPERATIONS)


@pytest.mark.parametrize("label", OPERATIONS)
def test_what_the_document_allows_is_answered_as_it_says(
    board: BoardApi, document: Any, label: str
) -> None:
    try_all(board, document, label, GenerationMode.POSITIVE)


@pytest.mark.parametrize("label", [one for one in OPERATIONS if "/api/" in one])
def test_what_the_document_forbids_is_refused(board: BoardApi, document: Any, label: str) -> None:
    try_all(board, document, label, GenerationMode.NEGATIVE)


def try_all(board: BoardApi, document: Any, label: str, mode: GenerationMode) -> None:
    """Send what one operation allows or forbids, and check the answers against the document."""
    method, path = label.split(" ")
    known = {"id": "p0" if "patients" in path else "e0"} if "{id}" in path else None
    headers = board.headers(WHO.get(path, "interface"))
    # What two fields mean together, and what lies in the future, no schema can say.
    meant = method == "POST" or path == "/api/review"
    excluded: list[Any] = [positive_data_acceptance] if meant else []
    # Without a token nothing is answered: that is tried for every route elsewhere.
    excluded.append(ignored_auth)

    engine = board.store.address.partition(":")[0].partition("+")[0]

    @settings(
        max_examples=EXAMPLES[engine],
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=document[path][method].as_strategy(mode, path_parameters=known))
    def send(case: schemathesis.Case[Any]) -> None:
        case.call_and_validate(headers=headers, excluded_checks=excluded)

    send()
