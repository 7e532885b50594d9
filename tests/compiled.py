"""What SQLAlchemy compiled of one database serves the next of its kind.

Each test has a database, an engine and a dialect of its own; the statements are the same in all,
and compiling them anew took a third of the time. Dialects of one class compile alike.
"""

from typing import Any, ClassVar, Final

from sqlalchemy import Engine
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.util import LRUCache


class _Alike:
    """The part of the key of what was compiled that says for whom: its class is enough."""

    compiled: ClassVar[LRUCache[Any, Any]] = LRUCache(1_000)

    def __hash__(self) -> int:
        return hash(type(self))

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other)

    @classmethod
    def engine_created(cls, engine: Engine) -> None:
        """Have an engine look here first; called by SQLAlchemy."""
        engine.update_execution_options(compiled_cache=cls.compiled)


class AlikeSQLite(_Alike, SQLiteDialect_pysqlite):
    """A file."""

    supports_statement_cache = True


class AlikePostgreSQL(_Alike, PGDialect_psycopg):
    """A server."""

    supports_statement_cache = True


DIALECTS: Final = {"sqlite": AlikeSQLite, "postgresql.psycopg": AlikePostgreSQL}


def keep_what_is_compiled() -> None:
    """Have every engine of this process made so, from here on."""
    for name, dialect in DIALECTS.items():
        registry.register(name, __name__, dialect.__name__)
