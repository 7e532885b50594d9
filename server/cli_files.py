"""Text files at the command line, and the bar that says how far one is."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

BAR: Final = 30


def count_lines(path: Path | None) -> int:
    """How many lines a file has below its header, for the progress bar."""
    return 0 if path is None else max(0, sum(1 for _ in text_of(path)) - 1)


def text_of(path: Path) -> Iterator[str]:
    """The lines of a file, read as they are asked for."""
    with path.open(encoding="utf-8", newline="") as file:
        yield from file


def write_lines(path: Path, lines: Iterator[str]) -> int:
    """Write lines to a file; how many stand below the header."""
    count = -1
    with path.open("w", encoding="utf-8", newline="") as file:
        for line in lines:
            file.write(f"{line}\r\n")
            count += 1
    return count


def show_progress(file: str, done: int, total: int) -> None:
    """A bar on a terminal; a pipe gets no bar."""
    if not sys.stderr.isatty():
        return
    full = BAR * min(done, total) // max(total, 1)
    end = "\n" if done >= total else "\r"
    bar = "#" * full + "." * (BAR - full)
    print(f"{file:<13}[{bar}] {done}/{total}", end=end, file=sys.stderr, flush=True)
