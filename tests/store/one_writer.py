"""`python -m tests.store.one_writer ADDRESS TIMES`: a process that reads, adds one and saves."""

import sys
from datetime import UTC, datetime
from typing import Final

from server.store.heartbeat import Beat, keep_beat, last_beat
from server.store.sessions import WriteSession
from server.store.store import Store

AT: Final = datetime(2026, 3, 3, 10, tzinfo=UTC)


def add_one(session: WriteSession) -> None:
    """Read a number and save it one higher."""
    beat = last_beat(session, "count")
    keep_beat(session, Beat("count", AT, str(1 + int(beat.detail or 0) if beat else 1)))


def main(address: str, times: int) -> None:
    """Add one so many times, each in a transaction of its own."""
    store = Store(address)
    for _ in range(times):
        with store.write() as session:
            add_one(session)
    store.close()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
