"""The JSON interface as a client sees it, with a clock that the test sets."""

from datetime import UTC, datetime, timedelta
from typing import Any, Final

from httpx2 import Client, Response

from server.domain.encoding import write_instant
from server.domain.words import Role
from server.services.tokens import make_token
from server.store.store import Store

NOON: Final = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)
FULL_SET: Final[dict[str, Any]] = {
    "temperature_c": 36.8,
    "pulse_per_min": 78,
    "respirations_per_min": 16,
    "systolic_mmhg": 124,
    "diastolic_mmhg": 76,
}
SOUND: Final[dict[str, Any]] = {
    "leak": False,
    "clots": False,
    "discoloured": False,
    "damaged": False,
}
CHECKED: Final[dict[str, Any]] = {
    "first_by": "n1",
    "second_by": "n2",
    "items": [{"item": "name", "matched": True}],
}
PATIENT: Final = {
    "record_number": "T1",
    "family_name": "Alder",
    "given_name": "Ida",
    "birth_date": "1961-05-04",
}


class StoppedClock:
    """Shows `now` until the test sets another instant."""

    def __init__(self, now: datetime = NOON) -> None:
        self.now = now

    def __call__(self) -> datetime:
        """The present instant, as an application asks for it."""
        return self.now


class BoardApi:
    """The interface of one board; `who` names the role and wards that ask."""

    def __init__(self, client: Client, store: Store, clock: StoppedClock) -> None:
        self.client = client
        self.store = store
        self.clock = clock
        self._tokens: dict[tuple[str, tuple[str, ...] | None], str] = {}

    def token(self, who: str, wards: tuple[str, ...] | None = None) -> str:
        """A token of a role, for these wards or for all."""
        if (who, wards) not in self._tokens:
            with self.store.write() as session:
                secret = make_token(session, f"a {who}", Role(who), wards, now=self.clock.now)
            self._tokens[who, wards] = secret
        return self._tokens[who, wards]

    def headers(self, who: str, wards: tuple[str, ...] | None = None) -> dict[str, str]:
        """What a caller of that role sends along."""
        return {"Authorization": f"Bearer {self.token(who, wards)}"}

    def get(self, path: str, who: str = "interface", **query: Any) -> Response:
        """Ask; an instant in the query may be given as one."""
        said = {name: _plain(value) for name, value in query.items()}
        return self.client.get(path, params=said, headers=self.headers(who))

    def post(
        self, path: str, body: Any, who: str = "interface", *, key: str | None = None
    ) -> Response:
        """Send a body as JSON."""
        named = {"Idempotency-Key": key} if key is not None else {}
        return self.client.post(path, json=_plain(body), headers=self.headers(who) | named)

    def made(self, path: str, body: Any, who: str = "interface") -> dict[str, Any]:
        """Send what has to succeed; the answer."""
        answer = self.post(path, body, who)
        assert answer.status_code == 201, answer.text
        said: dict[str, Any] = answer.json()
        return said

    def record(
        self, episode_id: str, kind: str, at: datetime, *, who: str = "interface", **payload: Any
    ) -> dict[str, Any]:
        """Record an event that has to be accepted."""
        body = {"kind": kind, "happened_at": at, **payload}
        return self.made(f"/api/episodes/{episode_id}/events", body, who)

    def refused(self, episode_id: str, kind: str, at: datetime, **payload: Any) -> Response:
        """Try an event that may be refused."""
        body = {"kind": kind, "happened_at": at, **payload}
        return self.post(f"/api/episodes/{episode_id}/events", body)

    def observe(self, patient_id: str, at: datetime, **signs: Any) -> dict[str, Any]:
        """Record a set of vital signs, a full one unless signs are given."""
        body = {"happened_at": at, **(signs or FULL_SET)}
        return self.made(f"/api/patients/{patient_id}/observations", body)

    def ward(self, ward_id: str = "w1", **more: Any) -> dict[str, Any]:
        """Enter a ward under the common policy."""
        body = {
            "id": ward_id,
            "name": f"Ward {ward_id}",
            "policy": "common",
            "timezone": "Europe/London",
        }
        return self.made("/api/wards", body | more, "administrator")

    def episode(self, name: str = "1", ward_id: str = "w1", **more: Any) -> str:
        """Register patient `p{name}` and open episode `e{name}` in bed `{name}`."""
        self.made("/api/patients", {"id": f"p{name}", **PATIENT})
        body = {
            "id": f"e{name}",
            "patient_id": f"p{name}",
            "ward_id": ward_id,
            "bed": name,
            "component": "red_cells",
            "volume_ml": 280,
        }
        return str(self.made("/api/episodes", body | more)["id"])

    def start(self, episode_id: str, issued_at: datetime, minutes: float = 10) -> datetime:
        """Issue a unit, check it, and start it so many minutes later; the instant of the start."""
        started_at = issued_at + timedelta(minutes=minutes)
        self.record(episode_id, "issued", issued_at)
        self.record(episode_id, "inspected", issued_at, **SOUND)
        self.record(episode_id, "identity_checked", started_at, **CHECKED)
        self.record(episode_id, "observed", started_at, **FULL_SET)
        self.record(episode_id, "started", started_at, rate_ml_h=60)
        return started_at

    def clock_of(
        self, episode_id: str, name: str, at: datetime, n: int | None = None
    ) -> dict[str, Any]:
        """One clock of an episode, the last of its name unless `n` says which."""
        said = self.get(f"/api/episodes/{episode_id}", at=at).json()
        found = [clock for clock in said["clocks"] if clock["clock"] == name]
        wanted = [clock for clock in found if n is None or clock["n"] == n]
        clock: dict[str, Any] = wanted[-1]
        return clock

    def level(self, at: datetime, ward_id: str = "w1") -> str:
        """The level of the only row on a board."""
        (row,) = self.get("/api/board", ward_id=ward_id, at=at).json()["rows"]
        return str(row["level"])


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return write_instant(value)
    if isinstance(value, dict):
        return {name: _plain(item) for name, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list) else value


def problem_of(answer: Response) -> dict[str, Any]:
    """The problem of an answer, after a look at what every problem has."""
    assert answer.headers["content-type"] == "application/problem+json", answer.text
    said: dict[str, Any] = answer.json()
    assert said["status"] == answer.status_code
    assert said["type"].startswith("urn:fourth-hour:problem:")
    assert set(said) >= {"title", "detail"}
    return said


def fields_of(answer: Response) -> list[str]:
    """The fields that a 422 names."""
    assert answer.status_code == 422, answer.text
    return [error["field"] for error in problem_of(answer)["errors"]]
