"""`wristband.toml`: what a plain record number on a wristband looks like."""

import re

from server.domain.policy.opened import OpenedFile, open_file

TABLE = "record_number"
FIELDS = ("pattern", "accepts", "refuses")


def read_wristband(text: str) -> re.Pattern[str]:
    """Answer the pattern that a whole record number has to match. Raises `PolicyError`."""
    file = open_file(text, "wristband")
    file.refuse_unknown((), file.tree, (TABLE,))
    table = file.table((TABLE,), file.tree.get(TABLE))
    file.refuse_unknown((TABLE,), table, FIELDS)
    pattern = _pattern(file, file.words((TABLE, "pattern"), table))
    for name, wanted in (("accepts", True), ("refuses", False)):
        for number in _numbers(file, name, table.get(name)):
            if bool(pattern.fullmatch(number)) is not wanted:
                does = "does not accept" if wanted else "accepts"
                file.refuse((TABLE, name), f"{name}: the pattern {does} {number!r}")
    return pattern


def _pattern(file: OpenedFile, text: str) -> re.Pattern[str]:
    if not text:
        file.refuse((TABLE, "pattern"), "pattern is missing; expected a regular expression")
    try:
        return re.compile(text, re.ASCII)
    except re.error as error:
        file.refuse((TABLE, "pattern"), f"pattern: {error}; expected a regular expression")


def _numbers(file: OpenedFile, name: str, found: object) -> tuple[str, ...]:
    if not isinstance(found, list) or not found or not all(isinstance(one, str) for one in found):
        file.refuse((TABLE, name), f"{name}: {found!r}; expected a list of at least one text")
    return tuple(found)
