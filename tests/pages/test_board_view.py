"""The board: rows, tally, filter and order."""

from dataclasses import replace
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from server.domain.payloads import Available, Discarded, Issued, ReactionSuspected
from server.domain.picture import picture
from server.pages.board_filter import Filter, Tally
from server.pages.board_view import BoardView, Place, board_view, is_night
from server.pages.row_view import UNASSIGNED, RowView, row_view
from server.pages.time_window import axis, window_at
from tests.domain.builders import COMMON, FULL, at, case
from tests.pages.units import running

NOW = at(27)
LONDON = ZoneInfo("Europe/London")
NAMES = {"n2": "Ravi", "n1": "ines", "n3": "Mei"}
PLACE = Place("Larch ward", LONDON, 41, night=False, href="/b", stream_href="/s", refresh_href="/r")

UNITS = (
    running((20, ReactionSuspected()), id="e1", nurse_id="n1"),
    running(id="e2", nurse_id="n2", rate=140),
    running((25, FULL), id="e3", nurse_id="n1", rate=140),
    case((0, Available()), id="e4"),
    case((0, Issued()), (5, Discarded("broken")), id="e5", nurse_id="n1"),
)


def rows() -> list[RowView]:
    """One row of reaction, due, steady, waiting and closed."""
    window = window_at(NOW)
    return [row_view(picture(unit, NOW), window, NAMES) for unit in UNITS]


def board(nurse_id: str | None = None) -> BoardView:
    """The board of these rows."""
    return board_view(rows(), PLACE, NOW, NAMES, nurse_id)


def keys(shown: tuple[RowView, ...]) -> list[str]:
    """The rows by their keys."""
    return [row.key for row in shown]


def test_closed_rows_stand_apart_at_the_end() -> None:
    assert keys(board().rows) == ["e1", "e2", "e3", "e4"]
    assert keys(board().closed_rows) == ["e5"]


def test_tally_counts_by_priority_and_leaves_out_what_is_empty() -> None:
    assert board().tally == (
        Tally("high", "!!!", 1, "need you now"),
        Tally("medium", "!!", 1, "at risk or due"),
    )


def test_filter_offers_all_then_nurses_with_open_rows_by_name_then_nobody() -> None:
    assert board().filters == (
        Filter("", "All", "/b", 4, current=True),
        Filter("n1", "ines", "/b?nurse=n1", 2, current=False),
        Filter("n2", "Ravi", "/b?nurse=n2", 1, current=False),
        Filter(UNASSIGNED, "Unassigned", "/b?nurse=-", 1, current=False),
    )


def test_filtered_board_shows_one_nurses_rows_and_the_tally_and_order_of_all() -> None:
    shown = board("n1")

    assert (keys(shown.rows), keys(shown.closed_rows)) == (["e1", "e3"], ["e5"])
    assert (shown.nurse_key, shown.nurse_name) == ("n1", "ines")
    assert (shown.tally, shown.order, shown.closed_order) == (
        board().tally,
        "e1:n1 e2:n2 e3:n1 e4:-",
        "e5:n1",
    )


def test_filter_of_a_nurse_without_rows_is_offered_while_it_is_chosen() -> None:
    chosen = [choice for choice in board("n3").filters if choice.current]

    assert chosen == [Filter("n3", "Mei", "/b?nurse=n3", 0, current=True)]


def test_rows_of_nobody() -> None:
    shown = board(UNASSIGNED)

    assert (keys(shown.rows), shown.nurse_key, shown.nurse_name) == (["e4"], "-", "Unassigned")


def test_filter_of_an_unknown_nurse_shows_nothing() -> None:
    shown = board("n 9")

    assert (shown.rows, shown.nurse_key, shown.nurse_name) == ((), "x_6e2039", "n 9")


def test_board_carries_its_window_and_the_wards_time() -> None:
    shown, window = board(), window_at(NOW)

    assert (shown.from_iso, shown.to_iso) == ("2026-03-03T08:45:00Z", "2026-03-03T14:30:00Z")
    assert (shown.now_text, shown.zone_text) == ("10:27", "GMT")
    assert (shown.now_x, shown.ticks) == (window.x(NOW), axis(window, LONDON))
    assert (shown.revision, shown.night) == (41, False)
    assert (shown.stream_href, shown.refresh_href) == ("/s", "/r")


@pytest.mark.parametrize(
    ("hour", "minute", "second", "night"),
    [(19, 59, 59, False), (20, 0, 0, True), (0, 30, 0, True), (7, 59, 59, True), (8, 0, 0, False)],
)
def test_night_runs_past_midnight_in_the_wards_time(
    hour: int,
    minute: int,
    second: int,
    night: bool,  # noqa: FBT001 - a column of the table above
) -> None:
    auckland = ZoneInfo("Pacific/Auckland")
    now = datetime(2026, 3, 3, hour, minute, second, tzinfo=auckland).astimezone(UTC)

    assert is_night(now, auckland, COMMON) is night


def test_night_inside_one_day() -> None:
    policy = replace(COMMON, night_from=time(1), night_until=time(5))

    nights = [is_night(at(60 * hour), ZoneInfo("UTC"), policy) for hour in (14, 15, 18, 19)]

    assert nights == [False, True, True, False]  # the base instant is 10:00
