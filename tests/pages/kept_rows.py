"""A PostgreSQL whose rows are put back before each test: by the server, in one breath."""

from typing import Final

from server.store.tables import CATALOGUE
from tests.databases import PostgresServer


class KeptRows:
    """One database at `address`, and beside its tables a copy of the rows that they held."""

    def __init__(self, server: PostgresServer, address: str) -> None:
        self.address: Final = address
        self._server = server
        names = [f'"{name}"' for name in CATALOGUE.tables]
        copies = [f"CREATE TABLE kept.{name} AS TABLE {name}" for name in names]
        server.run("; ".join(["CREATE SCHEMA kept", *copies]), address)
        # As if replicating: neither triggers nor foreign keys are asked.
        steps = ["SET session_replication_role = replica"]
        steps += [f"DELETE FROM {name}" for name in names]  # noqa: S608 - our own names
        steps += [f"INSERT INTO {name} TABLE kept.{name}" for name in names]
        self._steps = "; ".join(steps)

    def put_back(self) -> None:
        """Have the tables hold those rows, and nothing else."""
        self._server.run(self._steps, self.address)
