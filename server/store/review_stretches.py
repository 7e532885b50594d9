"""Statements over many stretches at once, and arithmetic with instants on both engines."""

from collections.abc import Iterable, Sequence
from typing import Any, Final

from sqlalchemy import CTE, ColumnElement, Integer, String, column, values
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import GenericFunction

from server.domain.review.stretches import Stretch
from server.store.columns import UtcDateTime
from server.store.statements import in_chunks

DAY_MINUTES: Final = 24 * 60
_MINUTE: Final = 60
_HOUR: Final = 3600

_WARD: Final = column("ward_id", String())
_PLACE: Final = column("place", Integer())
_FROM: Final = column("from_at", UtcDateTime())
_UNTIL: Final = column("until_at", UtcDateTime())
_OFFSET: Final = column("offset_seconds", Integer())


def asked_for(stretches: Iterable[Stretch]) -> list[CTE]:
    """Tables of stretches to join with, named `asked`: one for as many as a statement may carry.

    A statement with them walks the index of each ward from the beginning of a stretch to its end.
    """
    return [_table(chunk) for chunk in in_chunks(stretches)]


def _table(stretches: Sequence[Stretch]) -> CTE:
    rows = [
        (
            one.ward_id,
            one.place,
            one.period.from_at,
            one.period.until_at,
            int(one.offset.total_seconds()),
        )
        for one in stretches
    ]
    return values(_WARD, _PLACE, _FROM, _UNTIL, _OFFSET).data(rows).cte("asked")


class epoch(GenericFunction[int]):  # noqa: N801 - named as SQL is written
    """Whole seconds from 1970 to an instant in a column."""

    type = Integer()
    inherit_cache = True


@compiles(epoch, "sqlite")
def _on_sqlite(function: Any, compiler: Any, **options: Any) -> str:
    return f"CAST(strftime('%s', {compiler.process(function.clauses, **options)}) AS INTEGER)"


@compiles(epoch, "postgresql")
def _on_postgresql(function: Any, compiler: Any, **options: Any) -> str:
    seconds = compiler.process(function.clauses, **options)
    return f"CAST(EXTRACT(EPOCH FROM {seconds}) AS BIGINT)"


def begun_minutes(start: ColumnElement[Any], end: ColumnElement[Any]) -> ColumnElement[int]:
    """Whole minutes from one instant to another, a begun one counted; none below 0 is expected."""
    return (epoch(end) - epoch(start) + _MINUTE - 1) // _MINUTE


def hour_of_day(instant: ColumnElement[Any], offset: ColumnElement[int]) -> ColumnElement[int]:
    """The hour on a clock that shows UTC plus so many seconds, 0 to 23."""
    return (epoch(instant) + offset) // _HOUR % 24


def minute_of_day(instant: ColumnElement[Any], offset: ColumnElement[int]) -> ColumnElement[int]:
    """The minute on such a clock since its midnight, 0 to 1439."""
    return (epoch(instant) + offset) // _MINUTE % DAY_MINUTES
