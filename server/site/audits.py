"""`audits.toml`: published figures that a ward's own rates may stand beside."""

from collections.abc import Mapping
from typing import Any, Final

from server.domain.policy.opened import OpenedFile, near, open_file
from server.domain.review.audits import Audit, Measure

TEXTS: Final = ("of_what", "place", "counted", "differs", "source", "read")
FIELDS: Final = ("measure", "percent", "count", "of", "year", "verified", *TEXTS)
MEASURES: Final = tuple(one.value for one in Measure)
_WHOLE: Final = 100
_PLACES: Final = 6
_PAIR: Final = 2
_YEARS: Final = range(1900, 2101)


def read_audits(text: str) -> tuple[Audit, ...]:
    """Answer the figures in the order of the file. Raises `PolicyError` with the line."""
    file = open_file(text, "audits")
    return tuple(_audit(file, key, file.table((key,), found)) for key, found in file.tree.items())


def _audit(file: OpenedFile, key: str, table: Mapping[str, Any]) -> Audit:
    file.refuse_unknown((key,), table, FIELDS)
    low, high = _fractions(file, key, table.get("percent"))
    count, of = _number(file, key, "count", table), _number(file, key, "of", table)
    verified = table.get("verified")
    if not isinstance(verified, bool):
        file.refuse((key, "verified"), f"{key}.verified: {verified!r}; expected true or false")
    return Audit(
        key=key,
        measure=_measure(file, key, table),
        low=low,
        high=high,
        count=count,
        of=of,
        year=_year(file, key, table),
        verified=verified,
        **{name: _text(file, key, name, table) for name in TEXTS},
    )


def _measure(file: OpenedFile, key: str, table: Mapping[str, Any]) -> Measure:
    name = file.words((key, "measure"), table)
    if name not in MEASURES:
        file.refuse((key, "measure"), f"{key}.measure: {name!r}; {near(name, MEASURES)}")
    return Measure(name)


def _fractions(file: OpenedFile, key: str, found: object) -> tuple[float, float]:
    """One figure in per cent, or the lowest and the highest of a range, as fractions."""
    given = found if isinstance(found, list) else [found, found]
    figures = [one for one in given if isinstance(one, int | float) and not isinstance(one, bool)]
    if len(figures) != len(given) or len(given) != _PAIR or not _is_range(*figures):
        path = (key, "percent")
        file.refuse(path, f"{key}.percent: {found!r}; expected 0 to 100, or [lowest, highest]")
    low, high = figures
    return round(low / _WHOLE, _PLACES), round(high / _WHOLE, _PLACES)


def _is_range(low: float, high: float) -> bool:
    return 0 <= low <= high <= _WHOLE


def _year(file: OpenedFile, key: str, table: Mapping[str, Any]) -> int:
    year = _number(file, key, "year", table)
    if year is None or year not in _YEARS:
        file.refuse((key, "year"), f"{key}.year: {year!r}; expected a year, such as 2016")
    return year


def _number(file: OpenedFile, key: str, name: str, table: Mapping[str, Any]) -> int | None:
    """A whole number from 0 on, None where the field is left out."""
    found = table.get(name)
    if found is None:
        return None
    if not isinstance(found, int) or isinstance(found, bool) or found < 0:
        file.refuse((key, name), f"{key}.{name}: {found!r}; expected a whole number")
    return found


def _text(file: OpenedFile, key: str, name: str, table: Mapping[str, Any]) -> str:
    text = file.words((key, name), table)
    if not text:
        file.refuse((key, name), f"{key}.{name} is missing; expected a text")
    return text
