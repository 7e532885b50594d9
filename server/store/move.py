"""Move everything of one database into another: in order, resumable, compared row by row.

What only ever grows goes on after the last row that arrived; every other table is written over what
came the time before, and what is no longer in the source is taken away. So a move that broke off is
simply made again.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Final

from sqlalchemy import (
    BigInteger,
    Column,
    ColumnElement,
    Connection,
    CursorResult,
    MetaData,
    Row,
    String,
    Table,
    Text,
    collate,
    delete,
    func,
    insert,
    select,
    text,
    tuple_,
)
from sqlalchemy.types import NullType

from server.store.columns import JsonText
from server.store.errors import Away
from server.store.failures import told_plainly
from server.store.statements import insert_if_absent, upsert_into
from server.store.store import Store
from server.store.tables import CATALOGUE, UPGRADE_WORK
from server.store.upgrade_work import MOVING

BATCH: Final = 2_000
UNREAD: Final = (
    "cannot be read, and would be lost; nothing was left out, and nothing is complete. Keep this "
    "database as it is, and set that row right from a backup"
)

Progress = Callable[[str, int, int], None]
"""Told the table, how many of its rows are done, and how many there are."""

_Rows = CursorResult[Any]
_Key = tuple[Any, ...]


class Differs(Exception):
    """A row of the target is not what stands in the source, or the target holds other data."""


@dataclass(frozen=True, slots=True)
class Moved:
    """How many tables and rows the target holds now; every row was compared."""

    tables: int
    rows: int


def move_database(
    source: Store, target: Store, progress: Progress = lambda *_: None, *, held: bool = True
) -> Moved:
    """Move all rows of `source` into `target`, both on the newest schema, and compare them all.

    `source` is only read. `held`: nobody can write to it meanwhile; otherwise what is moved is as
    it was at the beginning. Until the end the target is marked as half moved. Raises `Away`, and
    `Differs` where the target holds anything else.
    """
    engine = source.engines.writing if held else source.engines.reading
    with told_plainly(), engine.begin() as read:
        with target.engines.writing.begin() as write:
            goes_on = _mark(write)
        alike = {read.dialect.name, target.engines.reading.dialect.name} == {"sqlite"}
        tables = [
            as_stored(table, alike=alike)
            for table in CATALOGUE.sorted_tables
            if table is not UPGRADE_WORK
        ]
        for table in tables:
            with _naming(read, table), told_plainly():
                _copy(read, target, table, progress)
        for table in reversed(tables) if goes_on else ():
            _take_away(read, target, table)
        rows = sum(_compare(read, target, table, progress) for table in tables)
        with target.engines.writing.begin() as write:
            _number_on(write, tables)
            write.execute(delete(UPGRADE_WORK).where(UPGRADE_WORK.c.name == MOVING))
            _copy_work_left(read, write)
    return Moved(len(tables), rows)


def as_stored(table: Table[Any], *, alike: bool) -> Table[Any]:
    """The table with its values as they are stored, so that one that is damaged arrives as it is.

    `alike`: both are files, in which any value stands as it was written. Otherwise an instant has
    to be one, and what is kept as JSON is text.
    """

    def kind(column: Column[Any]) -> Any:
        if alike and not column.primary_key:
            return NullType()
        return Text() if isinstance(column.type, JsonText) else column.type

    columns = (
        Column(one.name, kind(one), primary_key=one.primary_key, autoincrement=False)
        for one in table.columns
    )
    return Table(table.name, MetaData(), *columns)


@contextmanager
def _naming(read: Connection, table: Table[Any]) -> Iterator[None]:
    """Name the first row of a table that cannot be read; what it holds is not told."""
    try:
        yield
    except (Differs, Away):
        raise
    except Exception as fault:
        where = _keys(table)
        for key in read.execute(select(*where)).all():
            same = (column == value for column, value in zip(where, key, strict=True))
            try:
                read.execute(select(table).where(*same)).all()
            except Exception:  # noqa: BLE001 - whatever stands there
                raise Differs(f"{table.name}: {tuple(key)} {UNREAD}") from fault
        raise


def _mark(write: Connection) -> bool:
    """Mark an empty target as half moved; whether one was marked already, and goes on."""
    marked = select(UPGRADE_WORK.c.name).where(UPGRADE_WORK.c.name == MOVING)
    if write.execute(marked).first() is not None:
        return True
    for table in CATALOGUE.sorted_tables:
        if write.execute(select(table).limit(1)).first() is not None:
            message = f"the target holds rows in {table.name}; expected an empty database"
            raise Differs(message)
    write.execute(insert(UPGRADE_WORK).values(name=MOVING))
    return False


def _copy_work_left(read: Connection, write: Connection) -> None:
    """What an upgrade left to the program is left to it there too."""
    left = [{"name": row.name} for row in read.execute(select(UPGRADE_WORK.c.name))]
    if left:
        write.execute(insert_if_absent(write.dialect.name, UPGRADE_WORK.name), left)


def _copy(read: Connection, target: Store, table: Table[Any], progress: Progress) -> None:
    last, done = _arrived(target, table) if _grows(table) else (None, 0)
    total = _count(read, table)
    with _in_order(read, table, after=last) as rows:
        for batch in rows.partitions(BATCH):
            with target.engines.writing.begin() as write:
                _write(write, table, batch)
            done += len(batch)
            progress(table.name, done, total)


def _write(write: Connection, table: Table[Any], batch: Sequence[Row[Any]]) -> None:
    """Write rows that are not there as they are; what is there already is not touched."""
    asked = [_key(table, row) for row in batch]
    kept = write.execute(select(table).where(tuple_(*_keys(table)).in_(asked)))
    there = {_key(table, row): tuple(row) for row in kept}
    new = [row._asdict() for row in batch if _key(table, row) not in there]
    changed = [
        row._asdict() for row in batch if there.get(_key(table, row), tuple(row)) != tuple(row)
    ]
    if new:
        write.execute(insert(table), new)
    # Apart: of facts a database refuses an upsert even where there is nothing to update.
    if changed:
        write.execute(upsert_into(write.dialect.name, table), changed)


def _arrived(target: Store, table: Table[Any]) -> tuple[int | None, int]:
    """The last number of a table that only grows, and how many rows there are up to it."""
    (number,) = table.primary_key.columns
    with target.engines.reading.connect() as there:
        last, count = there.execute(select(func.max(number), func.count())).one()
    return last, count


def _take_away(read: Connection, target: Store, table: Table[Any]) -> None:
    """Take rows out of the target that are no longer in the source."""
    if _grows(table):
        return
    keys = _keys(table)
    with target.engines.writing.begin() as write:
        gone = list(_not_in(_keys_in_order(read, table), _keys_in_order(write, table)))
        for key in gone:
            same = (column == value for column, value in zip(keys, key, strict=True))
            write.execute(delete(table).where(*same))


def _not_in(here: Iterator[_Key], there: Iterator[_Key]) -> Iterator[_Key]:
    """Those of `there` that are not in `here`, both in order."""
    current = next(here, None)
    for key in there:
        while current is not None and current < key:
            current = next(here, None)
        if current != key:
            yield key


def _compare(read: Connection, target: Store, table: Table[Any], progress: Progress) -> int:
    """Compare a table row by row; how many there are. Raises `Differs` at the first difference."""
    total, done = _count(read, table), 0
    with (
        target.engines.reading.connect() as there,
        _in_order(read, table) as given,
        _in_order(there, table) as kept,
    ):
        for done, (one, other) in enumerate(zip_longest(given, kept), start=1):
            if one is None or other is None or tuple(one) != tuple(other):
                raise Differs(f"{table.name}: {_key(table, one or other)} is not what was moved")
            if done % BATCH == 0 or done == total:
                progress(f"= {table.name}", done, total)
    return done


def _number_on(write: Connection, tables: Iterable[Table[Any]]) -> None:
    """Have a server go on counting where the moved numbers end; a file does so by itself."""
    if write.dialect.name != "postgresql":
        return
    for table in filter(_grows, tables):
        (number,) = table.primary_key.columns
        last = write.execute(select(func.max(number))).scalar()
        counter = write.execute(
            text("SELECT pg_get_serial_sequence(:named, :numbered)"),
            {"named": f'"{table.name}"', "numbered": number.name},
        ).scalar()
        if last is not None and counter is not None:
            write.execute(
                text("SELECT setval(:counter, :last)"), {"counter": counter, "last": last}
            )


def _grows(table: Table[Any]) -> bool:
    """Whether rows are only ever added to a table, numbered as they come."""
    keys = list(table.primary_key.columns)
    return len(keys) == 1 and isinstance(keys[0].type, BigInteger)


def _keys(table: Table[Any]) -> list[Column[Any]]:
    return list(table.primary_key.columns)


def _in_order(there: Connection, table: Table[Any], after: int | None = None) -> _Rows:
    """The rows of a table in the order of their keys, read as they are asked for."""
    rows = select(table).order_by(*(_by_bytes(key, there) for key in _keys(table)))
    if after is not None:
        rows = rows.where(_keys(table)[0] > after)
    return there.execute(rows.execution_options(yield_per=BATCH))


def _keys_in_order(there: Connection, table: Table[Any]) -> Iterator[_Key]:
    with _in_order(there, table) as rows:
        yield from (_key(table, row) for row in rows)


def _key(table: Table[Any], row: Row[Any]) -> _Key:
    return tuple(getattr(row, key.name) for key in _keys(table))


def _by_bytes(key: Column[Any], there: Connection) -> ColumnElement[Any]:
    """Have a server sort text as a file does, whatever language it was set up for."""
    is_text = there.dialect.name == "postgresql" and isinstance(key.type, String)
    return collate(key, "C") if is_text else key


def _count(there: Connection, table: Table[Any]) -> int:
    return int(there.execute(select(func.count()).select_from(table)).scalar_one())
