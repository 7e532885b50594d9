"""What `fourth-hour demo` can be told."""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from seed_demo.year.wards import WARDS

FASTEST: Final = 240.0
SLOWEST: Final = 1.0
WEEKS: Final = 13
"""How much of the ward's past is told, and can be: as much as a review shows at first."""

EPISODES: Final = 60_000
MOST_EPISODES: Final = 500_000
DESCRIPTION: Final = (
    "Open an invented ward, with nurses who act, are late and recover. "
    "Everything on it is made up; nothing leaves this computer."
)


@dataclass(frozen=True, slots=True)
class Options:
    """The options as given; `database` None: a new file that is removed at the end.

    `weeks` of a past are told. Without `serve` the ward is told, and that is all.
    With `year` a database is filled with the past of a hospital instead: `episodes` units on so
    many `wards`, up to the end of the day `until` (None: up to now).
    """

    host: str
    port: int
    speed: float
    seed: int
    database: str | None
    keep: bool
    browser: bool
    timezone: str | None
    weeks: int = WEEKS
    serve: bool = True
    year: bool = False
    wards: int = len(WARDS)
    episodes: int = EPISODES
    until: date | None = None

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
    parser = _parser()
    options = Options(**vars(parser.parse_args(given)))
    if options.year and options.database is None:
        parser.error("--year fills a database that stays: name it with --database FILE")
    if not options.serve and options.database is None:
        parser.error("--no-serve leaves a database behind: name it with --database FILE")
    if options.episodes < options.wards:
        parser.error("--episodes: expected at least one for each ward")
    return options


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
    add("--no-serve", dest="serve", action="store_false", help="tell the ward, and end")
    add(
        "--weeks",
        type=_count(WEEKS, least=0),
        default=WEEKS,
        help="how much of its past is told (default %(default)s)",
    )
    _add_year(parser)
    return parser


def _add_year(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument_group("a year of a hospital instead", _YEAR).add_argument
    add("--year", action="store_true", help="fill the database that --database names, and end")
    add(
        "--wards",
        type=_count(len(WARDS)),
        default=len(WARDS),
        help="how many (default %(default)s)",
    )
    add("--episodes", type=_count(MOST_EPISODES), default=EPISODES, help="units on all of them")
    add("--until", type=_day, metavar="DATE", help="its last day (default: today)")


_SPEED: Final = "how fast the ward's time runs: 60 makes a second a minute (default 1: real time)"


_YEAR: Final = (
    "Everything that was charted in a year, for the manager's pages; serve it afterwards."
)


def _number(low: float, high: float) -> Callable[[str], float]:
    def number(text: str) -> float:
        value = float(text)
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"{text} is not from {low:g} to {high:g}")
        return value

    return number


def _count(most: int, least: int = 1) -> Callable[[str], int]:
    def count(text: str) -> int:
        return int(_number(least, most)(text))

    return count


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text} is no day such as 2026-03-01") from None


def _port(text: str) -> int:
    return int(_number(0, 65_535)(text))
