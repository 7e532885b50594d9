"""The smallest step that changes an answer."""

import pytest

from server.domain.why.search import smallest


@pytest.mark.parametrize(
    ("working", "most", "found"),
    [
        (range(1, 9), 8, 1),
        (range(5, 9), 8, 5),
        (range(8, 9), 8, 8),
        (range(9, 20), 8, None),
        (range(5, 8), 20, 5),  # a window that doubling jumps over
        ([3, 10, 11, 12], 12, 3),  # one that halving jumps over
        (range(700, 2_000), 1_999, 700),
        ([1_441], 1_500, None),  # a window too far out to try each step up to it
        (range(1, 9), 0, None),
        (range(1, 9), -3, None),
    ],
)
def test_the_smallest_step_that_works(
    working: range | list[int], most: int, found: int | None
) -> None:
    assert smallest(lambda step: step in working, most) == found


def test_no_step_is_tried_twice() -> None:
    tried: list[int] = []

    def works(step: int) -> bool:
        tried.append(step)
        return step >= 37

    assert smallest(works, 100) == 37
    assert sorted(tried) == sorted(set(tried))
    assert {36, 37} <= set(tried)
