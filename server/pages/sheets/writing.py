"""The paper sheets of all wards, written into a folder: there for whoever finds no screen."""

import re
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Final

from markupsafe import Markup

from server.pages.rendering import render
from server.pages.sheets.sheet_view import SheetView, sheet_view
from server.services.actor import SYSTEM
from server.services.enter_ward import list_wards
from server.services.live_board import LiveBoards
from server.services.sheet_folder import SHEETS_BEAT, put_in_place, sheet_file
from server.store.heartbeat import Beat, keep_beat
from server.store.store import Store
from server.web_files import static_folder

STYLES: Final = (("tokens", ""), ("base", ""), ("sheet", ""), ("sheet_print", "print"))
_FONT: Final = re.compile(r"@font-face \{.*?\}\n", re.DOTALL)  # a file has no fonts beside it


class SheetWriter:
    """Writes one file a ward into `folder`. A job: it is told the store and the instant."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._boards: LiveBoards | None = None

    def __call__(self, store: Store, now: datetime) -> None:
        """Write every ward's sheet as it stands at `now`; one that fails keeps up no other.

        Raises the first failure: OSError for the disk, `Away` for the database. A ward's last
        sheet stays where it is.
        """
        failures: list[Exception] = []
        boards = self._boards = self._boards or LiveBoards(store)
        with store.read() as session:
            wards = list_wards(session, SYSTEM)
        for ward in wards:
            try:
                text = sheet_html(sheet_view(boards.board(ward.id, now), now))
                put_in_place(sheet_file(self._folder, ward.id), text)
            except Exception as failure:  # noqa: BLE001 - raised below, once the others are there
                failures.append(failure)
        if failures:
            raise failures[0]
        with store.write() as session:
            keep_beat(session, Beat(SHEETS_BEAT, now))


def sheet_html(view: SheetView) -> str:
    """Answer a sheet as a file that needs nothing beside it."""
    return render("sheet/file.html", sheet=view, style=_style())


@cache
def _style() -> Markup:
    parts = []
    for name, media in STYLES:
        text = _FONT.sub("", (static_folder() / "css" / f"{name}.css").read_text("utf-8"))
        parts.append(f'<style media="{media or "all"}">\n{text}</style>')
    return Markup("\n".join(parts))  # noqa: S704 - styles of ours
