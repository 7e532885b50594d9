"""Which failures of a database mean that it is away, and which that two facts clash."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy.exc import DBAPIError, IntegrityError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionLeft

from server.store.errors import Away, Clash

# SQLite reports a wrong statement and a lost file by the same class; only the code tells.
_OUR_MISTAKES: Final = {
    sqlite3.SQLITE_ERROR,
    sqlite3.SQLITE_MISUSE,
    sqlite3.SQLITE_MISMATCH,
    sqlite3.SQLITE_RANGE,
    sqlite3.SQLITE_TOOBIG,
}


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn the failures of a database into `Away` and `Clash`; let mistakes in our SQL through."""
    try:
        yield
    except NoConnectionLeft as failure:
        raise Away(str(failure)) from failure
    except IntegrityError as failure:
        raise Clash(_name_of_rule(failure)) from failure
    except (DBAPIError, sqlite3.Error) as failure:
        if not _is_away(failure):
            raise
        raise Away(str(getattr(failure, "orig", failure))) from failure


def _is_away(failure: DBAPIError | sqlite3.Error) -> bool:
    first = getattr(failure, "orig", failure)
    code = getattr(first, "sqlite_errorcode", None)
    if code is None:
        # Without a code it is the driver's own: it read the row, and cannot make text of it.
        is_unread = isinstance(first, sqlite3.Error)
        return not is_unread and isinstance(failure, OperationalError | InterfaceError)
    return code & 0xFF not in _OUR_MISTAKES  # the low byte: the rest is detail


def _name_of_rule(failure: IntegrityError) -> str:
    """Name the rule and not the row: PostgreSQL's own message quotes the values it met."""
    diagnosis = getattr(failure.orig, "diag", None)
    if diagnosis is None:
        return str(failure.orig)
    return str(diagnosis.constraint_name or diagnosis.message_primary)
