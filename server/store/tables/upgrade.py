"""What an upgrade leaves to the program: work that no step of the schema can do by itself."""

from typing import Final

from sqlmodel import Field

from server.store.tables.base import Row, table_of


class UpgradeWorkRow(Row, table=True):
    """One piece of work by name; the row goes when it is done."""

    __tablename__ = "upgrade_work"
    name: str = Field(primary_key=True)


UPGRADE_WORK: Final = table_of(UpgradeWorkRow)
