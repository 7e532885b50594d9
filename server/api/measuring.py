"""What is measured of the process: requests by route, how long they took, streams, faults."""

from collections.abc import Iterable, Iterator
from http import HTTPMethod
from typing import Final

from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.core import GaugeMetricFamily, Metric
from starlette.types import Scope

from server.domain.invariants import Finding, Invariant
from server.services.read_vitals import Vitals

SECONDS: Final = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0)
ELSEWHERE: Final = "other"
STATIC: Final = "/static/"
STREAMED: Final = ("/stream", "/changes", "/events")


class Measures:
    """The counters of one application.

    Labels hold routes as they are written, never addresses: an address names a unit or a patient.
    """

    def __init__(self) -> None:
        self.registry: Final = CollectorRegistry()
        self.requests: Final = Counter(
            "fourth_hour_requests",
            "Requests answered, by route and status",
            ("method", "route", "status"),
            registry=self.registry,
        )
        self.seconds: Final = Histogram(
            "fourth_hour_request_seconds",
            "How long requests took that are answered at once",
            ("route",),
            buckets=SECONDS,
            registry=self.registry,
        )

    def note(self, scope: Scope, route: str, status: int, seconds: float) -> None:
        """Take note of an answer."""
        # Anybody may send any word for a method; each would be kept for good.
        method = scope["method"] if scope["method"] in HTTPMethod.__members__ else ELSEWHERE
        self.requests.labels(method, route, f"{status}").inc()
        if not route.endswith(STREAMED):
            self.seconds.labels(route).observe(seconds)


class VitalsCollector:
    """The figures of the database and of the process as they are when somebody asks."""

    def __init__(
        self, vitals: Vitals, broken: Iterable[Finding], *, leads: bool, streams: int
    ) -> None:
        self._broken = {one.invariant: one.count for one in broken}
        self._told = {
            "leads": ("1: this process runs the jobs", float(leads)),
            "streams": ("Open streams of this process", float(streams)),
        } | _told(vitals)

    def collect(self) -> Iterator[Metric]:
        """One family for each figure."""
        for name, (words, value) in self._told.items():
            yield GaugeMetricFamily(f"fourth_hour_{name}", words, value=value)
        invariants = GaugeMetricFamily(
            "fourth_hour_invariant_broken",
            "0: it holds, or there is nothing to ask it of; else by how many it does not",
            labels=["invariant"],
        )
        for invariant in Invariant:
            invariants.add_metric([invariant.value], float(self._broken.get(invariant, 0)))
        yield invariants


def _told(vitals: Vitals) -> dict[str, tuple[str, float]]:
    told: dict[str, tuple[str, float | None]] = {
        "tick_age_seconds": ("Since the last tick that succeeded", vitals.tick_age),
        "units_due": ("Units whose next change has come and that no tick has seen", vitals.due),
        "units_due_lag_seconds": ("For how long the first of them has been due", vitals.lag),
        "units_set_aside": ("Live units that could not be worked out", vitals.set_aside),
        "reminders_raised": ("Reminders raised in the last five minutes", vitals.reminders),
        "reminder_delay_seconds": (
            "By how much the latest of them came late",
            vitals.reminder_delay,
        ),
        "messages_waiting": ("Messages to webhooks that wait", vitals.messages),
        "message_age_seconds": ("For how long the oldest of them has waited", vitals.message_age),
    }
    return {name: (words, value) for name, (words, value) in told.items() if value is not None}


def route_of(scope: Scope) -> str:
    """The route of a request as it is written, `/api/episodes/{id}`: no label tells of anybody."""
    path: str = scope["path"]
    if path.startswith(STATIC):
        return STATIC
    if "endpoint" not in scope:
        return ELSEWHERE
    names = {f"{value}": name for name, value in scope.get("path_params", {}).items()}
    parts = (f"{{{names[part]}}}" if part in names else part for part in path.split("/"))
    return "/".join(parts)
