"""The quickest question of all: has anything on a ward's board changed?"""

from threading import Lock
from typing import Any, Final

from sqlalchemy import PoolProxiedConnection

from server.store.engines import Engines
from server.store.errors import Away
from server.store.failures import told_plainly

_QUESTION: Final = {
    "sqlite": "SELECT revision FROM ward WHERE id = ?",
    "postgresql": "SELECT revision FROM ward WHERE id = %s",
}


class Revisions:
    """Asks for revisions on a connection of its own, outside of any transaction.

    A board that has not changed is answered from memory: this question is then most of the cost,
    and going by way of a session would make it twenty times dearer.
    """

    def __init__(self, engines: Engines) -> None:
        self._engine = engines.reading
        self._question = _QUESTION[engines.reading.dialect.name]
        # Without a session in between, the driver's own errors come through.
        self._failures = engines.reading.dialect.loaded_dbapi.Error
        self._lock = Lock()
        self._connection: PoolProxiedConnection | None = None

    def of_ward(self, ward_id: str) -> int | None:
        """The revision of a ward, None if there is no such ward. Raises `Away`."""
        with self._lock, told_plainly():
            try:
                row = self._driver().execute(self._question, (ward_id,)).fetchone()
            except self._failures as failure:
                self._drop()
                raise Away(str(failure)) from failure
        return None if row is None else int(row[0])

    def close(self) -> None:
        """Give the connection back; the next question opens another."""
        with self._lock:
            self._drop()

    def _driver(self) -> Any:
        if self._connection is None:
            self._connection = self._open()
        driver: Any = self._connection.driver_connection
        return driver

    def _open(self) -> PoolProxiedConnection:
        opened = self._engine.raw_connection()
        if self._engine.dialect.name == "postgresql":
            driver: Any = opened.driver_connection
            driver.autocommit = True  # SQLite is in that mode already: each question sees anew
        return opened

    def _drop(self) -> None:
        if self._connection is not None:
            self._connection.invalidate()
            self._connection.close()
            self._connection = None
