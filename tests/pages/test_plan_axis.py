"""What stands over the axis of a plan: names of bands that cover neither each other nor now."""

import pytest

from server.pages.plans.axis_view import Band, BandWord, band_words
from server.pages.plans.people_view import Away, Cell, in_sight

NIGHT = Band("night", 50, 50)


@pytest.mark.parametrize(
    ("bands", "now_x", "expected"),
    [
        ([NIGHT], 2, [BandWord("night", 50, "start")]),
        ([NIGHT], 52, [BandWord("night", 75, "middle")]),
        (
            [Band("handover", 48, 6), NIGHT],
            2,
            [BandWord("handover", 48, "start"), BandWord("night", 75, "middle")],
        ),
        (
            [Band("handover", 84, 6), Band("night", 0, 87)],
            0,
            [BandWord("handover", 84, "start"), BandWord("night", 43.5, "middle")],
        ),
        ([Band("handover", 97, 3)], 2, [BandWord("handover", 100, "end")]),
        (
            [Band("handover", 48, 6), Band("night", 49, 3)],
            None,
            [BandWord("handover", 48, "start")],
        ),
        ([Band("handover", 0, 3)], 1, []),
    ],
)
def test_a_name_stands_where_it_can_be_read(
    bands: list[Band], now_x: float | None, expected: list[BandWord]
) -> None:
    assert list(band_words(bands, now_x)) == expected


def _cell(x: float) -> Cell:
    return Cell(x, 3.1, x + 1.55, 5, 0.5, 0, over=False, words="14:45 5 min")


@pytest.mark.parametrize(
    ("cells", "text"),
    [
        ([], "break"),
        ([_cell(14)], "break"),
        ([_cell(16)], ""),
        ([_cell(22)], ""),
        ([_cell(23)], "break"),
    ],
)
def test_the_word_of_a_break_is_not_read_through_work_in_it(cells: list[Cell], text: str) -> None:
    """The word reaches from 17.4 to 22.6 per cent."""
    away = Away("break", 15, 10, 20, "break", "break 16:00–16:30")

    assert in_sight(away, cells).text == text
