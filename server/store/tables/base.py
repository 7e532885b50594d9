"""What every table shares: one catalogue, and names that both engines give alike."""

from typing import Any, Final, cast

from sqlalchemy import BigInteger, Integer, MetaData, Table
from sqlalchemy.orm import registry
from sqlmodel import SQLModel

NAMES: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
CATALOGUE: Final = MetaData(naming_convention=NAMES)

# SQLite numbers a row by itself only under the plain type name INTEGER.
LONG: Final[Any] = BigInteger().with_variant(Integer(), "sqlite")


class Row(SQLModel, registry=registry(metadata=CATALOGUE)):
    """The base of all table classes; `table=True` ones describe, they validate nothing."""


def table_of(row: type[Row]) -> Table[Any]:
    """Answer the table that a class describes; queries are written against it."""
    return cast("Table[Any]", vars(row)["__table__"])
