"""The table of security in DEVELOPERS.md names tests that exist, in every row."""

import ast
import re
from typing import Final

from tests.architecture.own_files import tree_of
from tests.conftest import PROJECT

TEXT: Final = (PROJECT / "DEVELOPERS.md").read_text("utf-8")
SECTION: Final = re.search(r"^## Security\n(.*?)^## ", TEXT, re.MULTILINE | re.DOTALL)
NAMED: Final = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")
NUMBERS: Final = re.compile(r"\d+\.\d+\.\d+")


def rows() -> list[tuple[str, str, str]]:
    """The rows of the table: requirement, what is done, shown by."""
    assert SECTION is not None
    lines = [line for line in SECTION[1].splitlines() if line.startswith("| ")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[1:]]
    assert {len(row) for row in cells} == {3}
    return [(row[0], row[1], row[2]) for row in cells]


def names_in(path: str) -> set[str]:
    """The names of the tests in a file."""
    found = ast.walk(tree_of(PROJECT / path))
    return {one.name for one in found if isinstance(one, ast.FunctionDef | ast.AsyncFunctionDef)}


def test_every_row_has_a_requirement_and_a_test() -> None:
    assert len(rows()) > 30
    assert [row[0] for row in rows() if not NUMBERS.search(row[0])] == []
    assert [row[0] for row in rows() if not NAMED.search(row[2])] == []


def test_every_test_that_is_named_exists() -> None:
    named = {found for row in rows() for found in NAMED.findall(row[2])}

    missing = [
        f"{path}::{name}"
        for path, name in sorted(named)
        if not (PROJECT / path).is_file() or name not in names_in(path)
    ]
    assert missing == []


def test_no_requirement_stands_in_two_rows() -> None:
    numbers = [number for row in rows() for number in NUMBERS.findall(row[0])]

    assert sorted(numbers) == sorted(set(numbers))
