"""Read and write sessions: different types, so that a reader cannot be handed where one writes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Executable, Row, bindparam, update

from server.domain.site import Site
from server.store.columns import plain_value
from server.store.errors import Away, Clash
from server.store.failures import told_plainly
from server.store.tables import EPISODE_STATE, WARD
from server.store.vault import NO_VAULT, Vault

CHANNEL: Final = "fourth_hour_changes"
"""Where a server tells its other processes of a commit: the revision and the ward."""

AnyRow = Row[*tuple[Any, ...]]
Parameters = Mapping[str, Any] | Sequence[Mapping[str, Any]] | None


@dataclass(frozen=True, slots=True)
class Change:
    """One commit that changed a ward: its new revision, and the episodes that changed."""

    ward_id: str
    revision: int
    episode_ids: frozenset[str]


class ReadSession:
    """One snapshot of the database. The database itself refuses a write on it.

    `site` is what the site's files say: like the facts, it surrounds everything that is judged.
    `vault` opens what is stored sealed.
    """

    def __init__(self, connection: Connection, site: Site, vault: Vault = NO_VAULT) -> None:
        self._connection = connection
        self.site = site
        self.vault = vault

    @property
    def engine_name(self) -> str:
        """`sqlite` or `postgresql`."""
        return self._connection.dialect.name

    def rows(self, statement: Executable, parameters: Parameters = None) -> Sequence[AnyRow]:
        """All rows of a query."""
        with told_plainly():
            return self._connection.execute(statement, parameters).fetchall()

    def row(self, statement: Executable, parameters: Parameters = None) -> AnyRow | None:
        """The first row of a query, None if there is none."""
        with told_plainly():
            return self._connection.execute(statement, parameters).first()

    def value(self, statement: Executable, parameters: Parameters = None) -> Any:
        """The first column of the first row, None if there is no row."""
        with told_plainly():
            return self._connection.execute(statement, parameters).scalar()

    def plain(self, statement: str, *parameters: Any) -> Sequence[Any]:
        """The rows of SQL written out, `?` for a parameter, as the driver itself answers them.

        For what is done every second: a compiled statement takes ten times as long. Raises `Away`.
        """
        dialect = self._connection.dialect
        driver: Any = self._connection.connection.driver_connection
        text = statement if dialect.name == "sqlite" else statement.replace("?", "%s")
        try:
            cursor = driver.execute(text, [plain_value(value, dialect) for value in parameters])
            return cursor.fetchall() if cursor.description else ()
        except dialect.loaded_dbapi.Error as failure:
            raise Away(str(failure)) from failure


class WriteSession(ReadSession):
    """The one transaction that may write just now; it reads what it wrote."""

    def __init__(self, connection: Connection, site: Site, vault: Vault = NO_VAULT) -> None:
        super().__init__(connection, site, vault)
        self._revisions: dict[str, int] = {}
        self._touched: dict[str, set[str]] = {}
        self._stamped: set[str] = set()

    def run(
        self,
        statement: Executable,
        parameters: Parameters = None,
    ) -> int:
        """Run a statement that writes, once or for each of many parameters; the rows it met.

        The count means something for a single statement only.
        """
        if isinstance(parameters, Sequence) and not parameters:
            return 0
        with told_plainly():
            return self._connection.execute(statement, parameters).rowcount

    def has_touched(self, ward_id: str) -> bool:
        """Whether this commit is marked as changing a ward already."""
        return ward_id in self._revisions

    def touch(self, ward_id: str, episode_ids: Iterable[str] = ()) -> int:
        """Mark a ward and episodes of it as changed by this commit; the ward's new revision.

        However often it is called, a commit raises the revision once. The row of the ward stays
        locked until the commit, so that revisions become visible in their order.
        """
        if ward_id not in self._revisions:
            self._revisions[ward_id] = self._raise_revision(ward_id)
            self._touched[ward_id] = set()
        self._touched[ward_id].update(episode_ids)
        return self._revisions[ward_id]

    def _raise_revision(self, ward_id: str) -> int:
        revision = self.value(_RAISE, {"of_ward": ward_id})
        if revision is None:
            raise Clash(f"no ward {ward_id}")
        return int(revision)

    def stamp(self, ward_id: str, episode_id: str) -> int:
        """The stamp of an episode whose row is being stored, 0 if it is not marked as changed."""
        if episode_id not in self._touched.get(ward_id, ()):
            return 0
        self._stamped.add(episode_id)
        return self._revisions[ward_id]

    def stamp_changes(self) -> tuple[Change, ...]:
        """Stamp touched episodes that no row was stored for since; the Store's last act."""
        stamps = [
            {"of_episode": episode_id, "stamp": self._revisions[ward_id]}
            for ward_id, episode_ids in self._touched.items()
            for episode_id in sorted(episode_ids - self._stamped)
        ]
        self.run(_STAMP, stamps)
        if self.engine_name == "postgresql":
            for ward_id, revision in self._revisions.items():
                # Rings with the commit. Ids and revisions only: whoever hears it reads the rest.
                self.plain("SELECT pg_notify(?, ?)", CHANNEL, f"{revision} {ward_id}")
        return tuple(
            Change(ward_id, revision, frozenset(self._touched[ward_id]))
            for ward_id, revision in self._revisions.items()
        )


_RAISE = (
    update(WARD)
    .where(WARD.c.id == bindparam("of_ward"))
    .values(revision=WARD.c.revision + 1)
    .returning(WARD.c.revision)
)
_STAMP = (
    update(EPISODE_STATE)
    .where(EPISODE_STATE.c.episode_id == bindparam("of_episode"))
    .values(change_revision=bindparam("stamp"))
)
