"""What `fourth-hour demo` can be told."""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

FASTEST: Final = 240.0
SLOWEST: Final = 1.0
DESCRIPTION: Final = (
    "Open an invented ward, with nurses who act, are late and recover. "
    "Everything on it is made up; nothing leaves this computer."
)


@dataclass(frozen=True, slots=True)
class Options:
    """The options as given; `database` None: a new file that is removed at the end."""

    host: str
    port: int
    speed: float
    seed: int
    database: str | None
    keep: bool
    browser: bool
    timezone: str | None

    @property
    def step_seconds(self) -> float:
        """Real seconds from one look of the simulated nurses at the board to the next."""
        return max(0.25, min(5.0, 60 / self.speed))

    @property
    def hands_off(self) -> timedelta:
        """How long the nurses leave alone what somebody else has touched, in the ward's time."""
        return max(timedelta(minutes=10), timedelta(seconds=20) * self.speed)


def read_options(given: Sequence[str]) -> Options:
    """Read the command line. Exits with 2 and a message if it is wrong."""
    read = _parser().parse_args(given)
    return Options(**vars(read))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="fourth-hour demo", description=DESCRIPTION)
    add = parser.add_argument
    add("--speed", type=_number(SLOWEST, FASTEST), default=1.0, help=_SPEED)
    add("--seed", type=int, default=1, help="which of the possible shifts (default %(default)s)")
    add("--host", default="127.0.0.1", help="the address to listen on (default %(default)s)")
    add("--port", type=_port, default=8321, help="the port, or the next free one above it")
    add("--database", metavar="FILE", help="a database of its own for the demo, kept; or go on")
    add("--keep", action="store_true", help="keep the new database file at the end")
    add("--timezone", metavar="NAME", help="the ward's time zone, such as Pacific/Auckland")
    add("--no-browser", dest="browser", action="store_false", help="do not open a browser")
    return parser


_SPEED: Final = "how fast the ward's time runs: 60 makes a second a minute (default 1: real time)"


def _number(low: float, high: float) -> Callable[[str], float]:
    def number(text: str) -> float:
        value = float(text)
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"{text} is not from {low:g} to {high:g}")
        return value

    return number


def _port(text: str) -> int:
    return int(_number(0, 65_535)(text))
