"""What another process commits is heard at once on a server; a lost connection is made again."""

from collections.abc import Iterator
from contextlib import contextmanager
from queue import Empty, SimpleQueue

import pytest

from server.store.bell import Bell
from server.store.sessions import Change
from server.store.store import Store
from tests.databases import THROW_OTHERS_OUT, PostgresServer


class Ear:
    """Hears what a bell tells, on one database."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._heard: SimpleQueue[tuple[Change, ...]] = SimpleQueue()
        self.bell = Bell(store.engines.reading, self._heard.put)

    def touch(self) -> int:
        """Change the ward."""
        with self._store.write() as session:
            return session.touch("w1", ["e1"])

    def next(self, seconds: float = 5) -> tuple[Change, ...]:
        """What is heard next."""
        return self._heard.get(timeout=seconds)

    def wait(self) -> int:
        """Change the ward until that is heard, and answer at which revision that was.

        Who begins to listen, or does so again, has missed some.
        """
        for _ in range(100):
            revision = self.touch()
            try:
                while self.next(0.2)[0].revision < revision:
                    pass
            except Empty:
                continue
            return revision
        raise AssertionError("nothing was heard")


@contextmanager
def listening(store: Store) -> Iterator[Ear]:
    ear = Ear(store)
    ear.bell.start()
    try:
        yield ear
    finally:
        ear.bell.stop()


@pytest.mark.usefixtures("ward")
@pytest.mark.parametrize("address", ["postgresql"], indirect=True)
def test_a_commit_rings_with_ward_and_revision_only(
    store: Store, postgres: PostgresServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("server.store.bell.LISTEN_SECONDS", 0.1)
    with listening(store) as ear:
        ear.wait()
        revision = ear.touch()
        told = ear.next()
        postgres.run(THROW_OTHERS_OUT, postgres.migrated)
        again = ear.wait()

    assert told == (Change("w1", revision, frozenset()),)
    assert again > revision


@pytest.mark.usefixtures("ward")
@pytest.mark.parametrize("address", ["postgresql"], indirect=True)
def test_what_is_rolled_back_does_not_ring(store: Store) -> None:
    with listening(store) as ear:
        ear.wait()
        with pytest.raises(KeyboardInterrupt):
            _break_off(store)
        revision = ear.touch()
        told = ear.next()

    assert [one.revision for one in told] == [revision]


def _break_off(store: Store) -> None:
    with store.write() as session:
        session.touch("w1")
        raise KeyboardInterrupt


@pytest.mark.usefixtures("ward")
@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_a_file_rings_nothing(store: Store) -> None:
    with listening(store) as ear:
        ear.touch()
        with pytest.raises(Empty):
            ear.next(0.05)
