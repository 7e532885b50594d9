"""The README's way from an SQLite demo to PostgreSQL, two web processes, a worker and a proxy.

Its five commands are run as they stand there, with the Caddyfile that is deployed. The figures that
were measured are printed.
"""

import re
from collections.abc import Iterator
from contextlib import ExitStack
from threading import Event, Thread
from time import monotonic, sleep
from typing import Final, Self

import httpx2
import pytest

from seed_demo.staff import EARLY, PASSWORD, WARD_ID
from server.clock import utc_now
from server.domain.words import Kind, Role
from server.pages.devices import DEVICE_COOKIE
from server.pages.visitors import COOKIE, VISIT_COOKIE
from server.services.actor import SYSTEM
from server.services.read_board import read_board
from server.services.read_episode import read_episode
from server.services.tick import HEARTBEAT
from server.store.heartbeat import last_beat
from tests.faults.asking import say
from tests.faults.topology import ADDRESS, WEB, WORKER, Topology, topology_running, until
from tests.pages.reading import Page

pytestmark = pytest.mark.timeout(600)

UNDER_WAY_SECONDS: Final = 2.0
PATIENCE_SECONDS: Final = 60.0
WALL_LINKS: Final = f"/wards/{WARD_ID}/wall-links"


@pytest.fixture(scope="module")
def topology() -> Iterator[Topology]:
    """All of it, running; who came late to the proxy would take browsers over in a test's midst."""
    with topology_running() as running:
        until_spread(running)
        yield running


@pytest.fixture(scope="module")
def unit(topology: Topology) -> str:
    """A unit that came along from the SQLite file."""
    with topology.store.read() as session:
        board = read_board(session, SYSTEM, WARD_ID, now=utc_now())
    return board.rows[0].picture.case.request.id


def notes(topology: Topology, unit: str) -> list[str]:
    """The notes on a unit as they are stored."""
    with topology.store.read() as session:
        events = read_episode(session, SYSTEM, unit, now=utc_now()).events
    return [getattr(one.payload, "text", "") for one in events if one.kind is Kind.NOTE]


def post_note(client: httpx2.Client, unit: str, text: str) -> httpx2.Response:
    """Send a note; the key of the request is its text."""
    body = {"kind": "note", "happened_at": f"{utc_now():%FT%TZ}", "text": text}
    address = f"/api/episodes/{unit}/events"
    return client.post(address, json=body, headers={"Idempotency-Key": text})


def figure(topology: Topology, port: int, pattern: str) -> float:
    """The sum of what a process tells of itself, from inside."""
    told = httpx2.get(f"http://127.0.0.1:{port}/metrics", headers=topology.token(Role.INTERFACE))
    assert told.status_code == 200, told.text
    return sum(map(float, re.findall(rf"^fourth_hour_{pattern} (\S+)$", told.text, re.MULTILINE)))


def answered(topology: Topology, route: str) -> list[float]:
    """How many requests for a route each web process has answered."""
    counter = rf'requests_total{{.*route="{route}".*}}'
    return [figure(topology, port, counter) for port in WEB]


def until_spread(topology: Topology) -> float:
    """Wait until the proxy asks every web process; how many seconds that took."""
    with topology.client(**topology.token(Role.INTERFACE)) as program:
        return until(
            lambda: program.get("/api/staff").is_success and min(answered(topology, "/api/staff"))
        )


def test_a_nurse_signs_in_and_charts_over_https(topology: Topology, unit: str) -> None:
    nurse = topology.visit("bo", PASSWORD)
    nurse.done(f"/episodes/{unit}", "record-note", text="by way of the proxy")

    made = topology.visit("charge", PASSWORD).send(WALL_LINKS, WALL_LINKS)

    kept = {
        one.name: (one.secure, one.has_nonstandard_attr("HttpOnly"))
        for one in nurse.client.cookies.jar
    }
    names = [f"__Host-{name}" for name in (COOKIE, VISIT_COOKIE, DEVICE_COOKIE)]
    assert kept == dict.fromkeys(names, (True, True))
    assert "by way of the proxy" in notes(topology, unit)
    assert f"{ADDRESS}/wall/" in Page(made.text).text
    told = nurse.get("/healthz").headers["strict-transport-security"]
    assert told == "max-age=31536000; includeSubDomains"


def test_what_is_for_inside_is_not_reached_from_outside(topology: Topology) -> None:
    asked = ["/metrics", "/METRICS", "//metrics", "/%6detrics", "/metrics/", "/readyz", "/healthz"]
    with topology.client(**topology.token(Role.INTERFACE)) as outside:
        status = [outside.get(f"{ADDRESS}{path}").status_code for path in asked]

    assert status == [404, 404, 404, 404, 404, 404, 200]
    assert httpx2.get(f"http://127.0.0.1:{WEB[0]}/readyz").status_code == 200
    assert figure(topology, WEB[0], "tick_age_seconds") >= 0


def test_a_browser_stays_with_one_process_and_programs_are_spread(topology: Topology) -> None:
    nurse = topology.visit("agnes", PASSWORD)
    before = answered(topology, "/mine")
    for _ in range(10):
        assert nurse.get("/mine").status_code == 200
    met = [now - then for now, then in zip(answered(topology, "/mine"), before, strict=True)]
    with topology.client(**topology.token(Role.INTERFACE)) as program:
        for _ in range(30):
            program.get("/api/wards")

    assert sorted(met) == [0, 10]
    assert min(answered(topology, "/api/wards")) > 0


def test_boards_of_one_ward_are_streamed_by_one_process(topology: Topology) -> None:
    names = ("agnes", "bo", "charge")
    listening = []  # who stops reading leaves
    with ExitStack() as opened:
        for name in names:
            board = topology.visit(name, PASSWORD).client
            told = opened.enter_context(board.stream("GET", f"/wards/{WARD_ID}/board/stream"))
            listening.append(told.iter_lines())
            wait_for_line(listening[-1], "event: tick")
        streams = [figure(topology, port, "streams") for port in WEB]
    until(lambda: not sum(figure(topology, port, "streams") for port in WEB))

    assert sorted(streams) == [0, len(names)]


def test_a_stream_through_the_proxy_hears_at_once_and_ends_with_its_browser(
    topology: Topology, unit: str
) -> None:
    token = topology.token(Role.INTERFACE)
    with topology.client(**token) as outside:
        seconds = [heard_after(outside, port, unit, token) for port in WEB]
    ended = until(lambda: not sum(figure(topology, port, "streams") for port in WEB))
    say(f"recorded at either process, heard through the proxy after {max(seconds):.3f} s at most")
    say(f"streams whose browser had gone ended after {ended:.2f} s")


def heard_after(outside: httpx2.Client, port: int, unit: str, token: dict[str, str]) -> float:
    """How long after a note was recorded at a process a stream through the proxy said so."""
    inside = httpx2.Client(base_url=f"http://127.0.0.1:{port}", headers=token)
    with inside, outside.stream("GET", "/api/stream", params={"ward_id": WARD_ID}) as stream:
        lines = stream.iter_lines()
        wait_for_line(lines, "event: tick")
        recorded: list[float] = []

        def post() -> None:
            answer = post_note(inside, unit, f"streamed-{port}")
            assert answer.status_code == 201, answer.text
            recorded.append(monotonic())

        posting = Thread(target=post)
        posting.start()
        wait_for_line(lines, f'"{unit}"')
        heard = monotonic()
        posting.join()
    return heard - recorded[0]


def wait_for_line(lines: Iterator[str], what: str) -> None:
    """Read on until a line says it; a stream says something each second."""
    begun = monotonic()
    while what not in next(lines):
        assert monotonic() - begun < PATIENCE_SECONDS, f"the stream never said {what}"


class Busy:
    """A program that records notes and reads through the proxy, and repeats what got no answer."""

    def __init__(self, topology: Topology, unit: str) -> None:
        self.sent: list[str] = []
        self.read: set[int] = set()
        self.slowest = 0.0
        self.repeats = 0
        self._over = Event()
        self._of = (topology, unit)
        self._thread = Thread(target=self._work)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _work(self) -> None:
        topology, unit = self._of
        with topology.client(**topology.token(Role.INTERFACE)) as client:
            while not self._over.is_set():
                begun, text = monotonic(), f"busy-{len(self.sent)}"
                while (answer := post_note(client, unit, text)).is_server_error:
                    self.repeats += 1
                assert answer.status_code == 201, answer.text
                self.sent.append(text)
                self.read.add(client.get(f"/api/episodes/{unit}").status_code)
                self.slowest = max(self.slowest, monotonic() - begun)


def test_with_a_web_process_killed_requests_go_on_and_none_is_lost_or_doubled(
    topology: Topology, unit: str
) -> None:
    with Busy(topology, unit) as busy:
        sleep(UNDER_WAY_SECONDS)
        gone = topology.kill(WEB[0])
        sleep(UNDER_WAY_SECONDS)
    say(
        f"one web process killed: {len(busy.sent)} notes and as many reads, the slowest pair "
        f"{busy.slowest:.2f} s, {busy.repeats} repeated"
    )
    stored = [text for text in notes(topology, unit) if text.startswith("busy")]

    assert (sorted(stored), busy.read) == (sorted(busy.sent), {200})
    topology.begin_again(gone)
    say(f"begun again: the proxy asks it {until_spread(topology):.1f} s after it answered")
    log = (topology.folder / "log").read_text("utf-8")
    # Which route was asked for may be told, never which unit or wall.
    told = r"Bearer|Idempotency|/api/episodes/(?!\{)|/wall/(?!\{)"
    assert not re.search(told, log, re.IGNORECASE)


def test_with_the_worker_killed_the_board_goes_on_and_ticks_do_when_it_is_back(
    topology: Topology,
) -> None:
    def beat() -> float:
        with topology.store.read() as session:
            last = last_beat(session, HEARTBEAT)
        return last.at.timestamp() if last else 0.0

    nurse = topology.visit("ines", PASSWORD)
    gone = topology.kill(WORKER)
    sleep(1)
    still = beat()
    sleep(UNDER_WAY_SECONDS)

    assert (beat(), nurse.get("/mine").status_code) == (still, 200)
    topology.begin_again(gone)
    say(f"worker begun again: it ticks {until(lambda: beat() > still):.2f} s after it answers")


def test_everybody_and_everything_came_along(topology: Topology) -> None:
    with topology.store.read() as session:
        board = read_board(session, EARLY.charge.actor, WARD_ID, now=utc_now())

    assert len(board.rows) == 25
