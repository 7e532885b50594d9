"""One file reads the system clock; everything else is told what time it is."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.clock import utc_now
from tests.architecture.own_files import name_of, python_files, tree_of

READS = {
    "datetime": {"now", "utcnow", "today"},
    "date": {"today"},
    "dt": {"now", "utcnow", "today"},
    "func": {"now", "current_timestamp", "localtimestamp"},
    "time": {"time", "time_ns", "localtime", "gmtime", "ctime"},
}
IMPORTS = {"time": READS["time"]}


def test_only_the_clock_file_reads_the_clock() -> None:
    readers = {name_of(file) for file in python_files() if list(_clock_reads(tree_of(file)))}

    assert readers == {"server/clock.py"}


@pytest.mark.parametrize(
    "line",
    [
        "datetime.now(UTC)",
        "datetime.datetime.utcnow()",
        "date.today()",
        "time.time()",
        "from time import time_ns",
        "select(func.now())",
        "field(default_factory=datetime.utcnow)",
    ],
)
def test_a_reader_is_noticed(line: str) -> None:
    assert len(list(_clock_reads(ast.parse(line)))) == 1


@pytest.mark.parametrize("line", ["time.monotonic()", "picture(case, now)", "board.now", "time(7)"])
def test_what_does_not_read_the_clock_is_left_alone(line: str) -> None:
    assert list(_clock_reads(ast.parse(line))) == []


def test_the_clock_gives_whole_seconds_in_utc() -> None:
    now = utc_now()

    assert (now.microsecond, now.tzname()) == (0, "UTC")


def _clock_reads(tree: ast.Module) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in READS.get(_last_name(node.value), ()):
            yield node
        if isinstance(node, ast.ImportFrom):
            banned = IMPORTS.get(node.module or "", set())
            yield from (alias for alias in node.names if alias.name in banned)


def _last_name(node: ast.expr) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def test_the_clock_file_is_where_it_should_be() -> None:
    assert Path(utc_now.__code__.co_filename).name == "clock.py"
