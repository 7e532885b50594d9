"""Statements over many stretches at once, and arithmetic with instants on both engines.

The stretches go with a statement as one JSON text, which the engine takes apart into a table. So a
statement is the same for a day and for years of many wards: it is put together and compiled once.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from sqlalchemy import (
    CTE,
    ColumnElement,
    DateTime,
    Integer,
    Select,
    String,
    Table,
    bindparam,
    cast,
    column,
    func,
    literal_column,
    select,
    true,
)
from sqlalchemy.dialects.postgresql import JSONB
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import GenericFunction

from server.domain.encoding import write_instant
from server.domain.review.stretches import Stretch

DAY_MINUTES: Final = 24 * 60
_MINUTE: Final = 60
_HOUR: Final = 3600
_ASKED: Final = "asked"
_WHOLE: Final = ("place", "offset_seconds", "night_from", "night_minutes")


@dataclass(frozen=True, slots=True)
class NightHours:
    """When a ward's night begins and ends, in minutes since its midnight; the end is day."""

    from_minute: int
    until_minute: int

    @property
    def length(self) -> int:
        """How many minutes it lasts."""
        return (self.until_minute - self.from_minute) % DAY_MINUTES


NO_NIGHT: Final = NightHours(0, 0)


def asked_for(
    stretches: Iterable[Stretch], nights: Mapping[str, NightHours] | None = None
) -> dict[str, str]:
    """The stretches as the parameter of a statement over `asked`; `nights` are those of wards."""
    rows = []
    for one in stretches:
        night = (nights or {}).get(one.ward_id, NO_NIGHT)
        rows.append(
            (
                one.ward_id,
                write_instant(one.period.from_at),
                write_instant(one.period.until_at),
                one.place,
                int(one.offset.total_seconds()),
                night.from_minute,
                night.length,
            )
        )
    return {_ASKED: json.dumps(rows)}


@cache
def asked(engine_name: str) -> CTE:
    """The table of the stretches that a statement is run with.

    What joins with it walks the index of a ward from the beginning of a stretch to its end.
    """
    table = _on_sqlite() if engine_name == "sqlite" else _on_postgresql()
    # Worked out once: otherwise a planner may take the text apart again for every row it meets.
    return table.prefix_with("MATERIALIZED")


def found_in(
    engine_name: str,
    source: Table[Any],
    lies_in: ColumnElement[bool],
    fields: Iterable[ColumnElement[Any]],
) -> Select[Any]:
    """The place of a stretch with the labelled `fields` of each row of `source` that lies in it.

    Stretch by stretch, each by the index: PostgreSQL cannot tell how little a stretch holds, and
    would read all there is; the offset keeps it from joining otherwise.
    """
    table = asked(engine_name)
    keys = (table.c.ward_id, table.c.place)
    if engine_name == "sqlite":
        return select(*keys, *fields).join_from(table, source, lies_in)
    inner = select(*fields).select_from(source).where(lies_in).correlate(table)
    found = inner.offset(literal_column("0")).lateral("found")
    return select(*keys, *found.c).join_from(table, found, true())


def counted(found: Select[Any], *keys: str) -> Select[Any]:
    """How many rows are alike in these columns of what was found, after the columns themselves.

    What was found is a table of its own: PostgreSQL takes an expression with parameters that is
    written twice for two of them.
    """
    listed = found.subquery()
    columns = [listed.c[key] for key in keys]
    return select(*columns, func.count()).group_by(*columns)


def _on_sqlite() -> CTE:
    given = func.json_each(bindparam(_ASKED)).table_valued("value", name="given")
    fields = [func.json_extract(given.c.value, f"$[{place}]") for place in range(3 + len(_WHOLE))]
    return _named(fields)


def _on_postgresql() -> CTE:
    listed = func.jsonb_array_elements(cast(bindparam(_ASKED, type_=String()), JSONB))
    given = listed.table_valued(column("value", JSONB), name="given")
    texts = [given.c.value[place].astext for place in range(3 + len(_WHOLE))]
    instants = [cast(text, DateTime(timezone=True)) for text in texts[1:3]]
    return _named([texts[0], *instants, *(cast(text, Integer) for text in texts[3:])])


def _named(fields: Sequence[ColumnElement[Any]]) -> CTE:
    names = ("ward_id", "from_at", "until_at", *_WHOLE)
    labelled = (field.label(name) for name, field in zip(names, fields, strict=True))
    return select(*labelled).cte(_ASKED)


class epoch(GenericFunction[int]):  # noqa: N801 - named as SQL is written
    """Whole seconds from 1970 to an instant in a column."""

    type = Integer()
    inherit_cache = True


@compiles(epoch, "sqlite")
def _seconds_on_sqlite(function: Any, compiler: Any, **options: Any) -> str:
    return f"CAST(strftime('%s', {compiler.process(function.clauses, **options)}) AS INTEGER)"


@compiles(epoch, "postgresql")
def _seconds_on_postgresql(function: Any, compiler: Any, **options: Any) -> str:
    seconds = compiler.process(function.clauses, **options)
    return f"CAST(EXTRACT(EPOCH FROM {seconds}) AS BIGINT)"


def begun_minutes(start: ColumnElement[Any], end: ColumnElement[Any]) -> ColumnElement[int]:
    """Whole minutes from one instant to another, a begun one counted; none below 0 is expected."""
    return (epoch(end) - epoch(start) + _MINUTE - 1) // _MINUTE


def hour_of_day(instant: ColumnElement[Any], offset: ColumnElement[int]) -> ColumnElement[int]:
    """The hour on a clock that shows UTC plus so many seconds, 0 to 23."""
    return (epoch(instant) + offset) // _HOUR % 24


def is_night(instant: ColumnElement[Any], asked: CTE) -> ColumnElement[bool]:
    """Whether an instant lies in the night of its ward, whichever day that began."""
    minute = (epoch(instant) + asked.c.offset_seconds) // _MINUTE
    into = (minute - asked.c.night_from) % DAY_MINUTES
    return into < asked.c.night_minutes
