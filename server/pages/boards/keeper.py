"""Keeps in mind what a process would need if the database went away: boards, and who is here."""

import logging
from contextlib import suppress
from datetime import timedelta
from math import ceil
from threading import Event, Thread
from typing import Any, Final

from server.pages.boards.kept import kept_boards
from server.pages.visitors import signed_in_of
from server.services.errors import NotFound
from server.store.errors import Away

EVERY_SECONDS: Final = 0.5
"""What somebody may no longer is known within a second of another process having changed it."""
READ_WITHIN: Final = timedelta(minutes=1)
"""A ward whose board nobody opens is read this often; its revision is known each second."""

_LOG: Final = logging.getLogger(__name__)


class Keeper:
    """One thread that looks up who was here lately, and reads its share of the wards.

    While the database is away it does nothing: what is known stays.
    """

    def __init__(self, app: Any) -> None:
        self._app = app
        self._over = Event()
        self._thread: Thread | None = None
        self._failing = False

    def start(self) -> None:
        """Begin."""
        self._thread = Thread(target=self._run, name="keeper", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End, after what is under way; one that was not begun ends at once."""
        self._over.set()
        if self._thread is not None:
            self._thread.join()

    def keep(self) -> None:
        """Do the share of half a second. Raises `Away`."""
        state = self._app.state
        if state.feed.away:
            return
        now, known = state.clock(), kept_boards(self._app).last_known
        signed_in_of(self._app).see_again(self._app, now)
        wards = tuple(state.feed.pulse.revisions)
        share = ceil(len(wards) * EVERY_SECONDS / READ_WITHIN.total_seconds())
        for ward_id in wards:
            with suppress(NotFound):
                share -= known.freshen(ward_id, now, READ_WITHIN)
            if share <= 0:
                return

    def _run(self) -> None:
        while not self._over.wait(EVERY_SECONDS):
            try:
                self.keep()
            except Away:
                continue  # the feed says so
            except Exception:  # noqa: BLE001 - said once, and tried again
                if not self._failing:
                    _LOG.exception("what is known of the wards could not be brought up to date")
                self._failing = True
            else:
                self._failing = False
