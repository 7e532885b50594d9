"""Small files and small functions, everywhere."""

import ast
import statistics
from collections.abc import Iterator
from pathlib import Path

from tests.architecture.own_files import name_of, own_files, python_files, tree_of
from tests.conftest import LONGEST, PROJECT
from tests.pages.conftest import ON_BOTH_ENGINES

FILE_LIMIT = 300
FUNCTION_LIMIT = 60
FUNCTION_P90 = 30
FUNCTION_MEDIAN = 10


def test_no_file_is_longer_than_300_lines() -> None:
    files = python_files() + own_files("web", ".css", ".js", ".html")

    lengths = {name_of(file): len(file.read_text("utf-8").splitlines()) for file in files}

    assert {name: lines for name, lines in lengths.items() if lines > FILE_LIMIT} == {}


def test_no_function_is_longer_than_60_lines() -> None:
    lengths = {name: lines for file in python_files() for name, lines in _functions(file)}

    assert {name: lines for name, lines in lengths.items() if lines > FUNCTION_LIMIT} == {}


def test_functions_of_the_product_are_small_as_a_rule() -> None:
    files = python_files("server", "seed_demo")
    lengths = [lines for file in files for _, lines in _functions(file)]

    p90 = statistics.quantiles(lengths, n=10)[-1]

    assert (statistics.median(lengths) <= FUNCTION_MEDIAN, p90 <= FUNCTION_P90) == (True, True)


def test_the_files_that_are_named_to_take_longest_or_run_on_both_engines_are_there() -> None:
    """One that was given another name would lose its place, or an engine, without a word."""
    pages = {f"{name.replace('.', '/')}.py" for name in ON_BOTH_ENGINES}
    named = {f"tests/{name}" for name in LONGEST} | pages

    assert sorted(name for name in named if not (PROJECT / name).is_file()) == []


def _functions(file: Path) -> Iterator[tuple[str, int]]:
    """Every function with its number of lines; what a migration does to the tables is one list."""
    if "versions" in file.parts:
        return
    for node in ast.walk(tree_of(file)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or node.lineno) - node.lineno + 1
            yield f"{name_of(file)}:{node.lineno} {node.name}", lines
