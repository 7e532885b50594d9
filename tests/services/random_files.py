"""Databases that every example of a property begins anew, on the wards as they were entered."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from shutil import copyfile

from sqlalchemy import insert, select

from server.store.store import Store
from server.store.tables import CATALOGUE
from tests.databases import PostgresServer


@contextmanager
def fresh_stores(template: Path, file: Path, stores: int = 1) -> Iterator[list[Store]]:
    """So many stores, each a process of its own, on one new copy of the wards."""
    with ExitStack() as stack:
        for leftover in file.parent.glob(f"{file.name}*"):
            leftover.unlink()
        copyfile(template, file)
        opened = [Store(f"sqlite:///{file}") for _ in range(stores)]
        for store in opened:
            stack.callback(store.close)
        yield opened


def filled(server: PostgresServer, template: Path) -> str:
    """The address of a PostgreSQL that holds what a file does, and nothing else."""
    address = server.empty()
    _copy_rows(template, address)
    return address


def _copy_rows(template: Path, address: str) -> None:
    """Fill an empty database; what a database numbers by itself it numbers anew."""
    source, target = Store(f"sqlite:///{template}"), Store(address)
    with source.read() as read, target.write() as write:
        for table in CATALOGUE.sorted_tables:
            own = table.autoincrement_column
            kept = [column for column in table.columns if column is not own]
            rows = [dict(row._mapping) for row in read.rows(select(*kept))]
            write.run(insert(table), rows)
    source.close()
    target.close()
