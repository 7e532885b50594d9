"""The board as HTML: the same row everywhere, nothing unescaped, no names on a wall."""

import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from server.domain.payloads import Acknowledged, Discarded, Issued
from server.domain.picture import Case, picture
from server.domain.words import ClockName
from server.pages.board_view import BoardView, Place, board_view
from server.pages.page_head import page_head
from server.pages.rendering import render
from server.pages.row_view import RowView, row_view, wall_row
from server.pages.time_window import window_at
from tests.domain.builders import PATIENT, at, case
from tests.pages.units import running

NOW = at(31)
LONDON = ZoneInfo("Europe/London")
NAMES = {"nurse-1": "Ines", "nurse-2": "Ravi"}
HEAD = replace(page_head(NOW, LONDON, ward_name="Larch ward"), live=True)
SAID = (28, Acknowledged(ClockName.FIRST_CHECK, "nurse-2"))
OPEN = running(SAID, id="e1", nurse_id="nurse-1")
CLOSED = case((0, Issued()), (5, Discarded("broken")), id="e2", nurse_id="nurse-1")


def row(unit: Case) -> RowView:
    """The row of a unit."""
    return row_view(picture(unit, NOW), window_at(NOW), NAMES)


def board(*rows: RowView, nurse_id: str | None = None) -> BoardView:
    """The board of these rows."""
    place = Place("Larch ward", LONDON, 41, False, "/b", "/s?x=1", "/r")
    return board_view(rows, place, NOW, NAMES, nurse_id)


def lines(html: str) -> str:
    """The HTML without the white space between the lines."""
    return "\n".join(line.strip() for line in html.splitlines() if line.strip())


def test_row_is_the_same_on_the_page_and_in_the_stream() -> None:
    shown = row(OPEN)
    alone = lines(render("board/row.html", row=shown))

    assert alone in lines(render("board/board.html", head=HEAD, board=board(shown)))
    assert alone in lines(render("board/rows.html", board=board(shown)))
    assert alone in lines(render("board/changes.html", board=board(shown), changed=[shown]))


def test_rows_that_were_drawn_before_are_put_in_as_they_are() -> None:
    shown = row(OPEN)

    html = render("board/rows.html", board=board(shown), drawn={"open": "drawn before"})

    assert "drawn before" in html
    assert "Alder" not in html


def test_change_names_the_row_it_replaces_and_carries_the_order() -> None:
    shown = row(OPEN)

    html = render("board/changes.html", board=board(shown), changed=[shown])

    assert re.findall(r'<hx-partial hx-target="([^"]+)" hx-swap="outerMorph">', html) == [
        "#row-e1",
        "#tally",
        "#order",
    ]
    assert 'data-revision="41" data-open="e1:nurse-1" data-closed=""' in html


def test_stream_is_opened_with_the_revision_shown() -> None:
    html = render("board/board.html", head=HEAD, board=board(row(OPEN)))

    assert 'hx-sse:connect="/s?x=1&amp;since=41"' in html


@pytest.mark.parametrize("template", ["wall/wall.html", "wall/rows.html", "wall/changes.html"])
def test_wall_shows_bed_and_initials_and_no_names(template: str) -> None:
    rows = [wall_row(row(OPEN)), wall_row(row(CLOSED))]

    html = render(template, head=HEAD, board=board(*rows), changed=rows)

    assert [name for name in ("Alder", "Ida", "Ines", "Ravi") if name in html] == []
    assert "I.A." in html


def test_wall_has_nothing_to_press() -> None:
    html = render("wall/wall.html", head=HEAD, board=board(wall_row(row(OPEN))))

    assert re.findall(r"<(?:button|input|select|details|form|a )[^>]*>", html) == [
        '<a class="skip" href="#main">'
    ]


def test_names_are_escaped() -> None:
    evil = replace(PATIENT, family_name='<script>"', given_name="<b>")
    shown = row(replace(OPEN, patient=evil))

    html = render("board/row.html", row=shown)

    assert "&lt;script&gt;&#34;" in html
    assert "<script>" not in html
    assert "<b></b>" not in html


@pytest.mark.parametrize("template", ["board/board.html", "wall/wall.html"])
def test_page_keeps_a_strict_policy(template: str) -> None:
    html = render(template, head=HEAD, board=board(row(OPEN), row(CLOSED)))

    assert re.findall(r'\sstyle="|<style|\son\w+="|hx-on|javascript:|"js:', html) == []
    assert re.findall(r"<script(?![^>]*\ssrc=)[^>]*>", html) == []


def test_page_refreshes_without_javascript() -> None:
    html = render("board/board.html", head=HEAD, board=board(row(OPEN)))

    assert '<noscript><meta http-equiv="refresh" content="30"></noscript>' in html


def test_empty_ward_and_empty_filter_say_so() -> None:
    empty = render("board/rows.html", board=board())
    filtered = render("board/rows.html", board=board(row(OPEN), nurse_id="nurse-2"))

    assert "No units on Larch ward" in empty
    assert "Nothing needs you now." in empty
    assert "No open units: Ravi" in filtered


def test_unit_of_nobody_is_marked_unassigned_until_it_is_closed() -> None:
    nobodys = [running(id="e1"), replace(CLOSED, request=replace(CLOSED.request, nurse_id=None))]

    marked = ["unassigned" in render("board/row.html", row=row(unit)) for unit in nobodys]

    assert marked == [True, False]
