"""Nurses who act beside whatever the program does meanwhile, in a thread of their own."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from threading import Event, Thread
from typing import Final, Protocol

from server.clock import Clock
from server.store.errors import Away

_LOG: Final = logging.getLogger(__name__)


class Steps(Protocol):
    """Something that acts step by step."""

    def step(self, now: datetime, /) -> object:
        """Do what is to be done at `now`."""


@dataclass(frozen=True, slots=True)
class Pace:
    """Real seconds before the first step, and from one to the next."""

    settle_seconds: float
    step_seconds: float


@contextmanager
def acting(actors: Steps, clock: Clock, pace: Pace) -> Iterator[None]:
    """Have them act until the block is left; a step that fails is not their last."""
    stop = Event()
    thread = Thread(target=_act, args=(actors, clock, pace, stop), daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(timeout=10)


def _act(actors: Steps, clock: Clock, pace: Pace, stop: Event) -> None:
    if stop.wait(pace.settle_seconds):
        return
    while not stop.wait(pace.step_seconds):
        try:
            actors.step(clock())
        except Away as why:
            _LOG.warning("the simulated nurses wait: %s", why)
        except Exception:  # noqa: BLE001 - the ward goes on; what was wrong stands in the log
            _LOG.exception("a step of the simulated nurses failed")
