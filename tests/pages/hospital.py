"""A running board with two wards, and people who look at its pages."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from httpx2 import Client, Response
from starlette.testclient import TestClient

from server.pages.visitors import COOKIE
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.sign_in import sign_in
from server.store.staff import read_staff
from server.store.store import Store
from tests.api.board_api import StoppedClock
from tests.domain.builders import at
from tests.pages.reading import Page
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, EVERYBODY, enter_everybody, staff_draft

PASSWORD: Final = "a long enough word"
PART: Final = {"HX-Request": "true", "HX-Request-Type": "partial"}


@dataclass
class Visit:
    """One person, or nobody, at one browser without scripts."""

    client: Client
    headers: dict[str, str] = field(default_factory=dict)

    def get(self, path: str, **headers: str) -> Response:
        """Open an address; redirects are not followed."""
        return self.client.get(path, headers=self.headers | headers, follow_redirects=False)

    def see(self, path: str) -> Page:
        """Open a page that has to be there."""
        answer = self.get(path)
        assert answer.status_code == 200, f"{path}: {answer.status_code} {answer.text[:300]}"
        return Page(answer.text)

    def post(self, path: str, values: dict[str, Any], **headers: str) -> Response:
        """Send values to an address as a form does."""
        return self.client.post(
            path, data=values, headers=self.headers | headers, follow_redirects=False
        )

    def send(self, path: str, key: str, **typed: str | list[str]) -> Response:
        """Open a page, type into one of its forms and send it."""
        form = self.see(path).form(key)
        return self.post(form.action, form.filled(typed))

    def done(self, path: str, key: str, **typed: str | list[str]) -> str:
        """The same with a form that has to be accepted; where it leads."""
        answer = self.send(path, key, **typed)
        assert answer.status_code == 303, f"{answer.status_code} {Page(answer.text).errors}"
        return str(answer.headers["location"])


@dataclass
class Hospital:
    """The application, its database and its clock; `visit` signs somebody in."""

    client: TestClient
    store: Store
    clock: StoppedClock
    file: Path

    @property
    def app(self) -> Any:
        """The application."""
        return self.client.app

    @property
    def charting(self) -> Charting:
        """Short ways to chart without pages."""
        return Charting(self.store)

    def visit(self, person: Actor | None = None) -> Visit:
        """A browser of its own; with a person, signed in."""
        client = TestClient(self.client.app, base_url="http://testserver")
        if person is not None:
            client.cookies.set(COOKIE, self.secret_of(person))
        return Visit(client)

    def secret_of(self, person: Actor) -> str:
        """The cookie of a new session of somebody."""
        with self.store.write() as session:
            staff = read_staff(session, person.id)
            assert staff is not None
            return sign_in(session, staff, now=self.clock.now).secret


def enter_hospital(store: Store) -> None:
    """Both wards, and everybody with a name to sign in with, which is their id."""
    enter_everybody(store)
    with store.write() as session:
        for person in EVERYBODY:
            draft = replace(staff_draft(person), sign_in_name=person.id)
            enter_staff(session, ADMINISTRATOR, draft, now=at(-600))
