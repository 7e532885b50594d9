"""Who may import whom; and the domain stands on nothing but itself."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.architecture.own_files import name_of, python_files, tree_of
from tests.conftest import PROJECT

IMPURE = frozenset(
    {
        "asyncio",
        "io",
        "logging",
        "multiprocessing",
        "os",
        "pathlib",
        "random",
        "secrets",
        "socket",
        "sqlite3",
        "subprocess",
        "sys",
        "tempfile",
        "threading",
        "time",
        "urllib",
        "uuid",
    }
)
ALLOWED = (sys.stdlib_module_names - IMPURE) | {"server.domain"}


def test_the_import_contracts_hold() -> None:
    run = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert run.returncode == 0, run.stdout + run.stderr


def test_a_domain_file_imports_the_standard_library_and_the_domain_only() -> None:
    files = python_files("server/domain")

    found = {name_of(file): sorted(_roots(tree_of(file)) - ALLOWED) for file in files}

    assert {name: outside for name, outside in found.items() if outside} == {}
    assert len(found) > 100


def test_an_outside_import_is_noticed() -> None:
    tree = ast.parse("import os, sqlmodel\nfrom server.store import Store\nfrom . import words")

    assert sorted(_roots(tree) - ALLOWED) == [".", "os", "server.store", "sqlmodel"]


def _roots(tree: ast.Module) -> set[str]:
    return {_root(name) for node in ast.walk(tree) for name in _imported(node)}


def _imported(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    if isinstance(node, ast.ImportFrom):
        yield "." if node.level else node.module or ""


def _root(name: str) -> str:
    """The package; inside `server` also the layer."""
    parts = name.split(".")
    return ".".join(parts[:2]) if parts[0] == "server" else parts[0] or "."
