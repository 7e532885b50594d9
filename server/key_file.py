"""The file with the board's key: read at the start, and made when there is none."""

import os
from contextlib import suppress
from pathlib import Path
from secrets import token_bytes
from tempfile import NamedTemporaryFile
from typing import Final

from sqlalchemy import make_url

from server.settings import PREFIX, Settings, SettingsError

BYTES: Final = 32
NAME: Final = "fourth-hour.key"


def key_path(settings: Settings) -> Path:
    """Answer where the key is: where it was set, or beside an SQLite file, or where one works."""
    if settings.key_file is not None:
        return settings.key_file
    address = make_url(settings.database)
    is_file = address.get_backend_name() == "sqlite" and address.database not in (None, ":memory:")
    return Path(address.database or "").with_suffix(".key") if is_file else Path(NAME)


def read_key(settings: Settings) -> bytes:
    """Answer the bytes of the key; one that is not there is made. Raises SettingsError."""
    path = key_path(settings)
    try:
        key = path.read_bytes() if path.exists() else _made(path)
    except OSError as failure:
        raise SettingsError(f"{PREFIX}KEY_FILE: {path}: {failure.strerror}") from failure
    if len(key) < BYTES:
        message = f"{path} holds {len(key)} bytes; expected at least {BYTES}"
        raise SettingsError(f"{PREFIX}KEY_FILE: {message}")
    return key


def _made(path: Path) -> bytes:
    """Make the key whole before it has its name: of two processes at once both read the first."""
    with NamedTemporaryFile(dir=path.parent, prefix=".key-") as draft:  # for its owner alone
        draft.write(token_bytes(BYTES))
        draft.flush()
        os.fsync(draft.fileno())
        with suppress(FileExistsError):  # another process was first
            os.link(draft.name, path)
    return path.read_bytes()
