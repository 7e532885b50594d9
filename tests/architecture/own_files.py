"""The files that are ours: what was vendored, built or left behind by a tool is not."""

import ast
from functools import cache
from pathlib import Path

from tests.conftest import PROJECT

CODE = ("server", "seed_demo", "tests")
OTHERS = {"vendor", "__pycache__", ".venv", ".git"}
CACHES = ("_cache", ".hypothesis", ".egg-info")


def own_files(folder: str, *endings: str) -> list[Path]:
    """Every file of ours under `folder` that ends in one of `endings`, in order."""
    found = (PROJECT / folder).rglob("*")
    return sorted(file for file in found if file.suffix in endings and _is_own(file))


def _is_own(file: Path) -> bool:
    parts = file.relative_to(PROJECT).parts
    return not any(part in OTHERS or part.endswith(CACHES) for part in parts)


def python_files(*folders: str) -> list[Path]:
    """Every Python file of ours in `folders`, or in all three of our packages."""
    return [file for folder in folders or CODE for file in own_files(folder, ".py")]


@cache
def tree_of(file: Path) -> ast.Module:
    """The syntax tree of one Python file."""
    return ast.parse(file.read_text("utf-8"), filename=str(file))


def name_of(file: Path) -> str:
    """The file as a reader would name it: from the project's root."""
    return file.relative_to(PROJECT).as_posix()
