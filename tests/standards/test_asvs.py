"""Requirements of OWASP ASVS 5.0 that no other test of the board shows (chapters in `5.0/en`)."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from server.store.migrate import migrate

PAGES: Final = ("/", "/sign-in", "/who", "/wall/none", "/wards/w1/board", "/api/wards", "/healthz",
                "/metrics", "/none", "/api/none")  # fmt: skip
ELSEWHERE: Final = {
    "Host": "evil.example",
    "X-Forwarded-Host": "evil.example",
    "X-Forwarded-Proto": "javascript",
    "X-Forwarded-For": "127.0.0.1",
    "X-Original-URL": "/audit",
    "X-Rewrite-URL": "/audit",
}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """An empty board, and nobody signed in."""
    address = f"sqlite:///{tmp_path_factory.mktemp('asvs') / 'board.db'}"
    migrate(address)
    with TestClient(create_app(Settings(database=address), run_jobs=False)) as opened:
        yield opened


def test_no_answer_may_be_kept(client: TestClient) -> None:
    """14.3.2: nothing but files of the program is left to a cache."""
    answers = {path: client.get(path, follow_redirects=False) for path in PAGES}

    kept = {path: answer.headers.get("cache-control") for path, answer in answers.items()}
    assert kept == dict.fromkeys(PAGES, "no-store")
    file = next((Path(__file__).resolve().parents[2] / "web" / "static" / "css").glob("*.css"))
    assert client.get(f"/static/css/{file.name}").headers["cache-control"] == "no-cache"


def test_trace_is_not_answered(client: TestClient) -> None:
    """13.4.4: what a proxy adds to a request comes back to nobody."""
    answers = [client.request("TRACE", path, headers={"X-Inside": "s3cret"}) for path in PAGES]

    assert {answer.status_code for answer in answers} <= {404, 405}
    assert all("s3cret" not in answer.text for answer in answers)


def test_no_header_of_a_proxy_leads_anybody_elsewhere(client: TestClient) -> None:
    """4.1.3: a host that was made up, and paths that a proxy might have taken over."""
    for path in PAGES:
        plain = client.get(path, follow_redirects=False)
        forged = client.get(path, headers=ELSEWHERE, follow_redirects=False)

        assert (path, forged.status_code) == (path, plain.status_code)
        assert "evil.example" not in f"{forged.headers}{forged.text}"


def test_no_field_and_no_header_makes_another_method_of_a_request(client: TestClient) -> None:
    """3.5.3: a POST stays a POST, a GET a GET."""
    headers = {"X-HTTP-Method-Override": "POST", "X-Method-Override": "DELETE"}

    looked = client.get("/sign-in?_method=POST", headers=headers)
    refused = client.get("/sign-out?_method=POST", headers=headers)

    assert (looked.status_code, "Sign in" in looked.text) == (200, True)
    assert refused.status_code == 405


def test_a_file_in_a_form_is_not_looked_at(client: TestClient) -> None:
    """5.2.1: there is no place to send a file to; one in a form is as if it were not there."""
    file = {"sign_in_name": ("name.html", b"<script>alert(1)</script>", "text/html")}
    token = client.get("/sign-in").text.partition('name="csrf_token" value="')[2].partition('"')[0]

    answer = client.post("/sign-in", data={"csrf_token": token}, files=file)

    assert answer.status_code == 422
    assert "alert(1)" not in answer.text
