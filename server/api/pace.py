"""How fast one token may ask: a bucket of requests that fills again, for each token apart.

A program that has gone wrong asks as fast as it is answered. It must not keep a ward waiting, and
is told when to come back. Each process counts for itself: with two, twice as much passes.
"""

from collections import OrderedDict
from threading import Lock
from typing import Final

BURST_SECONDS: Final = 5
MOST_KEPT: Final = 4_096


class TooFast(Exception):
    """The bucket of the token is empty; in `seconds` it holds one request again."""

    def __init__(self, seconds: float) -> None:
        super().__init__("this token asks too often")
        self.seconds = seconds


class Pace:
    """Lets `per_second` requests of each token pass, five seconds' worth at once; 0: all."""

    def __init__(self, per_second: int) -> None:
        self._per_second = per_second
        self._most = float(per_second * BURST_SECONDS)
        self._buckets: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._lock = Lock()

    def take(self, token: str, at: float) -> None:
        """Take one request of a token at an instant of a clock that only goes on, in seconds.

        Raises `TooFast`; then nothing is taken.
        """
        if not self._per_second:
            return
        with self._lock:
            held, since = self._buckets.pop(token, (self._most, at))
            held = min(self._most, held + (at - since) * self._per_second)
            passes = held >= 1
            self._buckets[token] = (held - 1 if passes else held, at)
            # Whoever asked longest ago has a full bucket, or nearly.
            if len(self._buckets) > MOST_KEPT:
                self._buckets.popitem(last=False)
        if not passes:
            raise TooFast((1 - held) / self._per_second)
