"""Files and folders that are kept whatever happens to the machine."""

import os
from pathlib import Path


def wait_for_disk(path: Path) -> None:
    """Wait until the disk has a file, or the entries of a folder. Raises OSError."""
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
