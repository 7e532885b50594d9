"""Shapes of statements that several queries share."""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import islice
from typing import Any, Final, TypeVar

from sqlalchemy import Column, ColumnElement, Executable, Table, bindparam
from sqlalchemy.dialects import postgresql, sqlite

from server.store.tables import CATALOGUE

Item = TypeVar("Item")

# Well below the number of parameters that either engine takes in one statement.
CHUNK: Final = 500
IDS: Final = "ids"


def in_chunks(items: Iterable[Item]) -> Iterator[list[Item]]:
    """Split many items into lists that one statement can carry."""
    rest = iter(items)
    while chunk := list(islice(rest, CHUNK)):
        yield chunk


def columns_for(table: Table[Any], value: type[Any]) -> list[Column[Any]]:
    """The columns of a table that a dataclass names, in the order of its fields."""
    return [table.c[name] for name in _field_names(value)]


def values_of(value: Any) -> dict[str, Any]:
    """A dataclass as parameters; words become plain text, which is what both drivers store."""
    return {name: _plain(getattr(value, name)) for name in _field_names(type(value))}


def _field_names(value: type[Any]) -> tuple[str, ...]:
    # A dataclass keeps them at hand for `match`; asking `fields` costs more than the row itself.
    names: tuple[str, ...] = value.__match_args__
    return names


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return str(value)
    return list(value) if isinstance(value, tuple | frozenset) else value


def one_of(column: ColumnElement[Any]) -> ColumnElement[bool]:
    """The column holds one of the `ids` that a statement is run with.

    A statement that is put together once costs a third of one that names its ids anew each time.
    """
    return column.in_(bindparam(IDS, expanding=True))


@cache
def upsert(engine_name: str, table_name: str, kept: tuple[str, ...] = ()) -> Executable:
    """Insert a row, or overwrite the one of the same primary key except for its `kept` columns."""
    return upsert_into(engine_name, CATALOGUE.tables[table_name], kept)


def upsert_into(engine_name: str, table: Table[Any], kept: tuple[str, ...] = ()) -> Executable:
    """The same for a table that may be none of the catalogue."""
    keys = [column.name for column in table.primary_key]
    statement = _insert(engine_name, table)
    changed = {
        column.name: statement.excluded[column.name]
        for column in table.columns
        if column.name not in keys and column.name not in kept
    }
    return statement.on_conflict_do_update(index_elements=keys, set_=changed)


@cache
def insert_if_absent(engine_name: str, table_name: str, answers: Sequence[str] = ()) -> Executable:
    """Insert a row unless one of the same identity exists; answers columns of those inserted."""
    table = CATALOGUE.tables[table_name]
    statement = _insert(engine_name, table).on_conflict_do_nothing()
    return statement.returning(*(table.c[name] for name in answers)) if answers else statement


def _insert(engine_name: str, table: Table[Any]) -> sqlite.Insert | postgresql.Insert:
    return sqlite.insert(table) if engine_name == "sqlite" else postgresql.insert(table)
