"""A policy file that is being read: its tables, their lines, and refusing with the line."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, NoReturn

from server.domain.policy.lines import Path, find_lines, line_of, reported_line
from server.domain.policy.typed import PolicyError


@dataclass(frozen=True, slots=True)
class OpenedFile:
    """The tables of a policy file; its lines are looked up only to refuse something."""

    name: str
    text: str
    tree: Mapping[str, Any]

    def refuse(self, path: Path, message: str) -> NoReturn:
        """Raise `PolicyError` with the line of the path, or of the table that lacks it."""
        raise PolicyError(f"{self.name}.toml", line_of(find_lines(self.text), path), message)

    def table(self, path: Path, found: object) -> Mapping[str, Any]:
        """Answer what was found as a table, or refuse it."""
        if not isinstance(found, dict):
            self.refuse(path, f"{dotted(path)}: {found!r}; expected a table [{dotted(path)}]")
        return found

    def words(self, path: Path, table: Mapping[str, Any]) -> str:
        """Answer a text field of a table without the blanks around it; empty when it is missing."""
        found = table.get(path[-1], "")
        if not isinstance(found, str):
            self.refuse(path, f"{dotted(path)}: {found!r}; expected a text")
        return found.strip()

    def refuse_unknown(self, path: Path, table: Mapping[str, Any], known: Iterable[str]) -> None:
        """Refuse the first name in a table that is not one of the known."""
        for name in table:
            if name not in known:
                self.refuse(
                    (*path, name), f"{dotted((*path, name))} is unknown; {near(name, known)}"
                )


def open_file(text: str, name: str) -> OpenedFile:
    """Read the text as TOML, or refuse it with the line at which it stops making sense."""
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = reported_line(text, error)
        raise PolicyError(f"{name}.toml", line, f"{error}; expected valid TOML") from error
    return OpenedFile(name, text, tree)


def dotted(path: Path) -> str:
    """Write a path as the header of its table reads."""
    return ".".join(path)


def near(name: str, known: Iterable[str]) -> str:
    """Say what was expected: the most similar known name, or all of them."""
    names = list(known)
    similar = get_close_matches(name, names, n=1)
    return f"expected {similar[0]}" if similar else f"expected one of {', '.join(names)}"
