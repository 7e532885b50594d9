"""Checks that payload constructors share."""

from server.domain import limits
from server.domain.errors import Invalid


def require_within(field: str, value: float | None, bounds: tuple[float, float]) -> None:
    """Refuse a number outside `bounds` (both ends allowed); None is a value not given."""
    if value is None:
        return
    low, high = bounds
    if not low <= value <= high:
        raise Invalid(field, f"{value:g} is impossible; expected {low:g} to {high:g}")


def require_text(field: str, value: str | None, longest: int = limits.LONG_TEXT) -> None:
    """Refuse an empty or overlong text; None is a text not given."""
    if value is None:
        return
    if not value.strip():
        raise Invalid(field, "is empty; expected a text")
    if len(value) > longest:
        raise Invalid(field, f"is {len(value)} characters long; expected at most {longest}")
