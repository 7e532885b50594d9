"""Checks that payload constructors share."""

from collections.abc import Sequence

from server.domain import limits
from server.domain.errors import Invalid


def require_within(field: str, value: float | None, bounds: tuple[float, float]) -> None:
    """Refuse a number outside `bounds` (both ends allowed); None is a value not given."""
    if value is None:
        return
    low, high = bounds
    if not low <= value <= high:
        raise Invalid(field, f"{_number(value)} is impossible; expected {low:g} to {high:g}")


def require_text(field: str, value: str | None, longest: int = limits.LONG_TEXT) -> None:
    """Refuse an empty or overlong text; None is a text not given."""
    if value is None:
        return
    if not value.strip():
        raise Invalid(field, "is empty; expected a text")
    if len(value) > longest:
        raise Invalid(field, f"is {len(value)} characters long; expected at most {longest}")


def require_celsius(field: str, value: float | None) -> None:
    """Refuse an impossible temperature, and say which slip it looks like."""
    if value is None:
        return
    low, high = limits.TEMPERATURE_C
    if not low <= value <= high:
        expected = f"expected {low:g} to {high:g}"
        raise Invalid(field, f"{_number(value)} is impossible; {expected}{_slip(value)}")


def _number(value: float) -> str:
    """A number as it is repeated: JSON has longer ones than a computer counts."""
    return "a number of that size" if _is_beyond(value) else f"{value:g}"


def _is_beyond(value: float) -> bool:
    return isinstance(value, int) and abs(value) >= limits.COUNTED


def _slip(value: float) -> str:
    """What was probably meant: a temperature in °F, or a point in the wrong place."""
    if _is_beyond(value):
        return ""
    low, high = limits.FAHRENHEIT_TYPED
    if low <= value <= high:
        return f". Fahrenheit? {value:g} °F is {(value - 32) * 5 / 9:.1f} °C"
    moved = next((one for one in (value * 10, value / 10) if _is_possible(one)), None)
    return "" if moved is None else f". {moved:.1f}?"


def _is_possible(celsius: float) -> bool:
    low, high = limits.TEMPERATURE_C
    return low <= celsius <= high


def require_pressure(field: str, systolic: float | None, diastolic: float | None) -> None:
    """Refuse a systolic pressure that is not above the diastolic one."""
    if systolic is None or diastolic is None or systolic > diastolic:
        return
    pair = f"{systolic:g}/{diastolic:g}"
    raise Invalid(field, f"{pair} is impossible; expected the systolic above the diastolic")


def require_texts(field: str, values: Sequence[str]) -> None:
    """Refuse too long a list, and an empty or overlong text in it."""
    if len(values) > limits.LIST_ITEMS:
        raise Invalid(field, f"has {len(values)} items; expected at most {limits.LIST_ITEMS}")
    for value in values:
        require_text(field, value, limits.SHORT_TEXT)
