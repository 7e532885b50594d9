"""The manager's pages over a year of twelve wards: how long they take, and what that grows with.

The first run makes the year, which takes minutes; later ones find it.
"""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from os import getpid
from statistics import median
from time import perf_counter
from typing import Final

from server.domain.review.days import Days
from server.domain.review.periods import By
from server.services.review_ground import Asked
from server.services.review_period import review_period
from server.store.store import Store
from tests.benchmarks.client import Connection, get
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.benchmarks.reviewing_ground import EPISODES, UNTIL, Ground, ground
from tests.benchmarks.servers import Server, board_server, keep_to

LAST: Final = date(2026, 2, 28)
WARD: Final = "harbour"
MONTH_MS: Final = 1_000.0
YEAR_MS: Final = 3_000.0
TIMES: Final = 10
ASKED: Final = 100
FLAT: Final = 1.5
"""How much longer a month may take in a year of history than in a quarter of one."""

LINEAR: Final = 1.3
"""How much longer than in proportion a longer period may take."""

MEMORY: Final = 1.15


@dataclass(frozen=True, slots=True)
class Page:
    """A page, and what is asked of it in ms; None: shown only."""

    name: str
    path: str
    wanted_ms: float | None


def run(options: Options) -> Iterator[Outcome]:
    """Pages by the clock on the wall, then growth with the history and with the period."""
    quarter, half, whole = (ground(parts, options.size(EPISODES)) for parts in (3, 6, 12))
    keep_to(getpid(), first=False)
    yield from _pages(whole, options)
    yield from _flat([quarter, half], whole, options)
    yield from _linear(whole, options)


def _pages(whole: Ground, options: Options) -> Iterator[Outcome]:
    """Each page as it is served, warm: the median of ten, and the slowest against what is asked."""
    with ExitStack() as opened:
        server = opened.enter_context(board_server(whole.file))
        connection = opened.enter_context(Connection(server.port))
        for page in PAGES:
            yield _page(connection, whole, page, options.rounds(TIMES))
        yield _memory(server, connection, whole, options.size(ASKED))


def _page(connection: Connection, whole: Ground, page: Page, times: int) -> Outcome:
    spent = [_ms(connection, whole, page.path) for _ in range(times + 1)][1:]
    size = len(connection.ask(get(page.path, whole.cookie)).body) / 1e3
    name = f"{page.name} ({size:,.0f} kB): median, against what is asked; ratio of the slowest"
    bound = page.wanted_ms or MONTH_MS
    wanted = None if page.wanted_ms is None else 1.0
    return Outcome(name, median(spent), bound, "ms", max(spent) / bound, wanted)


def _ms(connection: Connection, whole: Ground, path: str) -> float:
    begun = perf_counter()
    answer = connection.ask(get(path, whole.cookie))
    spent = (perf_counter() - begun) * 1e3
    if answer.status != 200:
        raise AssertionError(f"{path}: {answer.status} {answer.body[:300]!r}")
    return spent


def _memory(server: Server, connection: Connection, whole: Ground, times: int) -> Outcome:
    """Every page was asked for before: what a hundred more take and do not give back."""
    before = server.resident_mb()
    for place in range(times):
        _ms(connection, whole, PAGES[place % len(PAGES)].path)
    after = server.resident_mb()
    return Outcome(f"memory after {times} more pages", after, before, "MB", after / before, MEMORY)


def _flat(shorter: Sequence[Ground], whole: Ground, options: Options) -> Iterator[Outcome]:
    """The same month, in histories of different lengths: nothing but that month may be read."""
    base = shorter[0]
    for other in (*shorter[1:], whole):
        ours, bare = _by_turns(other, base, 1, options)
        name = f"review of a month in {other.parts} months of history, against {base.parts}"
        yield Outcome(name, ours, bare, "ms", ours / bare, FLAT)


def _by_turns(one: Ground, other: Ground, months: int, options: Options) -> tuple[float, float]:
    found: list[list[float]] = [[], []]
    with ExitStack() as opened:
        stores = [opened.enter_context(_store(which)) for which in (one, other)]
        for _ in range(options.rounds(TIMES)):
            for place, store in enumerate(stores):
                found[place].append(_review_ms(store, one, months))
    return median(found[0]), median(found[1])


def _linear(whole: Ground, options: Options) -> Iterator[Outcome]:
    """Longer periods of the same year against a month of it, in proportion."""
    with _store(whole) as store:
        spent = {
            months: median(_review_ms(store, whole, months) for _ in range(options.rounds(TIMES)))
            for months in (1, 3, 6, 12)
        }
    for months in (3, 6, 12):
        name = f"review of {months} months, against {months} times one month"
        bare = spent[1] * months
        yield Outcome(name, spent[months], bare, "ms", spent[months] / bare, LINEAR)


@contextmanager
def _store(which: Ground) -> Iterator[Store]:
    store = Store(which.address)
    try:
        yield store
    finally:
        store.close()


def _review_ms(store: Store, whole: Ground, months: int) -> float:
    """The review of all wards without its page, in this process."""
    first = LAST - timedelta(days=round(365 * months / 12) - 1)
    asked = Asked(Days(first, LAST), By.WEEK)
    begun = perf_counter()
    with store.read() as session:
        review_period(session, whole.manager, None, asked, now=UNTIL)
    return (perf_counter() - begun) * 1e3


def _days(months: int) -> str:
    return f"from={LAST - timedelta(days=round(365 * months / 12) - 1)}&to={LAST}"


PAGES: Final = (
    Page("review of a month, 12 wards", f"/review?{_days(1)}", MONTH_MS),
    Page("review of a year, 12 wards", f"/review?{_days(12)}", YEAR_MS),
    Page("review of a month, one ward", f"/wards/{WARD}/review?{_days(1)}", MONTH_MS),
    Page("review of a year, one ward", f"/wards/{WARD}/review?{_days(12)}", YEAR_MS),
    Page("breaches of a month, 12 wards", f"/breaches?{_days(1)}", MONTH_MS),
    Page("breaches of a month, one ward", f"/wards/{WARD}/breaches?{_days(1)}", MONTH_MS),
    Page("accounts of a month, one ward", f"/wards/{WARD}/accounts?{_days(1)}", MONTH_MS),
    Page("report of a month, one ward", f"/wards/{WARD}/report?{_days(1)}", MONTH_MS),
    Page("replay of one instant", f"/wards/{WARD}/replay?at=2026-02-10T11:20:00Z", MONTH_MS),
)
