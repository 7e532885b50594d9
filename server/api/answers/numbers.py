"""Numbers as answers give them: two decimals, as far as anything here is known."""

from typing import overload


@overload
def rounded(value: float) -> float: ...


@overload
def rounded(value: float | None) -> float | None: ...


def rounded(value: float | None) -> float | None:
    """Two decimals; None stays None."""
    return None if value is None else round(value, 2)


def fraction(value: float | None) -> float | None:
    """A part of 0 to 1 to six decimals; None stays None."""
    return None if value is None else round(value, 6)
