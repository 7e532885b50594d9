"""Plans in the making: one at a time for each ward, watched and stopped from other requests."""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import dataclass, field
from datetime import datetime
from threading import Event, Lock
from typing import Final

from server.domain.plan.proposal import Progress
from server.services.errors import Conflict, NotFound

AT_ONCE: Final = 2  # wards that plan at the same time; the others wait their turn
KEPT: Final = 200
STOPPING: Final = "the board is stopping; ask again"


@dataclass(slots=True)
class Run:
    """One plan in the making. `progress` is the latest the planner said, None before the first.

    `begun_at` is when it was asked for, None where nobody watches it.
    """

    id: str
    ward_id: str
    actor_id: str
    seconds: float
    begun_at: datetime | None = None
    progress: Progress | None = None
    stopping: Event = field(default_factory=Event)
    made: Future[str] = field(default_factory=Future)

    @property
    def is_done(self) -> bool:
        """Whether it has ended, with a plan or with an error."""
        return self.made.done()

    def tell(self, progress: Progress) -> None:
        """Note how far it has come."""
        self.progress = progress


class PlanRuns:
    """The plans in the making of one process."""

    def __init__(self) -> None:
        self._threads = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="plan")
        self._runs: dict[str, Run] = {}
        self._lock = Lock()
        self._closing = Event()

    def begin(self, run: Run, make: Callable[[Run], str]) -> None:
        """Have `make` answer the id of a plan, in a thread of its own.

        Raises `Conflict` while another plan of the ward is being made.
        """
        with self._lock:
            if any(one.ward_id == run.ward_id and not one.is_done for one in self._runs.values()):
                raise Conflict("a plan of this ward is being made; wait for it, or stop it")
            self._forget_old()
            self._runs[run.id] = run
        # What the log tells of it belongs to the request that asked for it.
        self._threads.submit(copy_context().run, self._make, run, make)

    def look(self, run_id: str, ward_id: str) -> Run:
        """Answer a run of a ward. Raises `NotFound`."""
        run = self._runs.get(run_id)
        if run is None or run.ward_id != ward_id:
            raise NotFound("the plan in the making")
        return run

    def of_ward(self, ward_id: str) -> Run | None:
        """Answer the plan of a ward that is in the making, None where none is."""
        with self._lock:
            running = (one for one in self._runs.values() if one.ward_id == ward_id)
            return next((one for one in running if not one.is_done), None)

    def close(self) -> None:
        """Stop everything. Whoever waits for a run whose turn never came is told."""
        self._closing.set()
        for run in list(self._runs.values()):
            run.stopping.set()
        self._threads.shutdown(wait=True, cancel_futures=True)
        for run in self._runs.values():
            if not run.is_done:
                run.made.set_exception(Conflict(STOPPING))

    def _make(self, run: Run, make: Callable[[Run], str]) -> None:
        if self._closing.is_set():
            run.made.set_exception(Conflict(STOPPING))
            return
        try:
            run.made.set_result(make(run))
        except BaseException as failure:  # noqa: BLE001 - whoever looks is told
            run.made.set_exception(failure)

    def _forget_old(self) -> None:
        done = [run_id for run_id, run in self._runs.items() if run.is_done]
        for run_id in done[: max(0, len(done) - KEPT)]:
            del self._runs[run_id]
