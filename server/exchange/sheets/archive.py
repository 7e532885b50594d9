"""An archive whose bytes depend on what is put in and on one instant, and on nothing else."""

from datetime import UTC, datetime
from os import PathLike
from pathlib import Path
from shutil import copyfileobj
from typing import IO, Any, Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

READABLE: Final = 0o100644 << 16  # a plain file that its owner may write


class DatedArchive(ZipFile):
    """A zip file in which every entry bears the instant it was made for."""

    def __init__(self, file: IO[bytes], made_at: datetime) -> None:
        super().__init__(file, "w", ZIP_DEFLATED)
        self._made_at = made_at.astimezone(UTC).timetuple()[:6]

    def entry(self, name: str) -> IO[bytes]:
        """Open a new entry to write into."""
        return self.open(self._info(name), "w")

    def writestr(
        self, zinfo_or_arcname: str | ZipInfo, data: Any, *_args: Any, **_options: Any
    ) -> None:
        """Put a text or bytes in; what a `ZipInfo` says besides its name is not kept."""
        named = zinfo_or_arcname
        name = named.filename if isinstance(named, ZipInfo) else named
        super().writestr(self._info(name), data)

    def write(
        self, filename: str | PathLike[str], arcname: Any = None, *_args: Any, **_options: Any
    ) -> None:
        """Put a file in, a piece at a time; its own date is not kept."""
        with Path(filename).open("rb") as source, self.entry(f"{arcname or filename}") as entry:
            copyfileobj(source, entry)

    def _info(self, name: str) -> ZipInfo:
        info = ZipInfo(name, self._made_at)
        info.compress_type = ZIP_DEFLATED
        info.external_attr = READABLE
        return info
