"""Which line of a TOML text says what: the standard library's reader keeps no lines."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

Path = tuple[str, ...]

_REPORTED = re.compile(r"\(at line (\d+)")


def find_lines(text: str) -> dict[Path, int]:
    """Answer the line, from 1, on which each table and each key of a valid text first stands."""
    lines: dict[Path, int] = {}
    table: Path = ()
    for line, is_header, tree in _statements(text):
        paths = list(_paths(tree))
        if is_header:
            table = paths[-1]
        for path in paths:
            lines.setdefault(path if is_header else table + path, line)
    return lines


def line_of(lines: Mapping[Path, int], path: Path) -> int:
    """Answer the line of a path, or of the nearest table that should hold it, or the first line."""
    while path not in lines and path:
        path = path[:-1]
    return lines.get(path, 1)


def reported_line(text: str, error: tomllib.TOMLDecodeError) -> int:
    """Answer the line at which the reader gave up: the last one if it read to the end."""
    found = _REPORTED.search(str(error))
    return int(found[1]) if found else 1 + text.rstrip().count("\n")


def _statements(text: str) -> Iterator[tuple[int, bool, dict[str, Any]]]:
    """Cut a valid text into headers and assignments, each with its first line.

    What does not parse on its own goes on over the next line.
    """
    first, piece = 1, ""
    for number, row in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        first = first if piece else number
        piece += row + "\n"
        tree = _parsed(piece)
        if tree:
            yield first, piece.lstrip().startswith("["), tree
        if tree is not None:
            piece = ""


def _parsed(piece: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(piece)
    except tomllib.TOMLDecodeError:
        return None


def _paths(tree: Mapping[str, Any], above: Path = ()) -> Iterator[Path]:
    for name, value in tree.items():
        yield (*above, name)
        if isinstance(value, dict):
            yield from _paths(value, (*above, name))
