"""Which failures of a database mean that it is away, and which that two facts clash."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionLeft

from server.store.errors import Away, Clash


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn the failures of a database into `Away` and `Clash`; let mistakes in our SQL through."""
    try:
        yield
    except NoConnectionLeft as failure:
        raise Away(str(failure)) from failure
    except IntegrityError as failure:
        raise Clash(_name_of_rule(failure)) from failure
    except (OperationalError, InterfaceError) as failure:
        if _is_our_mistake(failure):
            raise
        raise Away(str(failure.orig)) from failure


def _is_our_mistake(failure: DBAPIError) -> bool:
    """SQLite reports a wrong statement and a lost file by the same class, but not the same code."""
    code = getattr(failure.orig, "sqlite_errorcode", None)
    return code is not None and code & 0xFF in (sqlite3.SQLITE_ERROR, sqlite3.SQLITE_MISUSE)


def _name_of_rule(failure: IntegrityError) -> str:
    """Name the rule and not the row: PostgreSQL's own message quotes the values it met."""
    diagnosis = getattr(failure.orig, "diag", None)
    if diagnosis is None:
        return str(failure.orig)
    return str(diagnosis.constraint_name or diagnosis.message_primary)
