"""The policies that come with the program, and the folder of local ones beside them."""

from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Final

from server.domain.policy import Policy, PolicyError, flatten, parse_policy

SHIPPED: Final = ("common", "uk", "nz", "au", "ca")
"""Names of the shipped policies; each is based on nothing or on one before it."""


def load_policies(folder: Path | None = None) -> dict[str, Policy]:
    """Read the shipped policies and then every `*.toml` of a folder, in the order of their names.

    A local policy stands alone or is based on a shipped one. Raises `PolicyError` for the first
    file that is wrong or takes a shipped name, `NotADirectoryError` if there is no such folder.
    """
    shipped = _shipped()
    return {**shipped, **(dict(_local(folder, shipped)) if folder else {})}


@cache
def _shipped() -> Mapping[str, Policy]:
    """Read once: what comes with the program does not change while it runs."""
    shipped: dict[str, Policy] = {}
    for name in SHIPPED:
        shipped[name] = parse_policy(policy_text(name), name=name, bases=shipped)
    return MappingProxyType(shipped)


def policy_text(name: str) -> str:
    """Answer the file of a shipped policy as it is written. Raises `KeyError` for other names."""
    if name not in SHIPPED:
        raise KeyError(name)
    return files(__name__).joinpath(f"{name}.toml").read_text(encoding="utf-8")


def resolved_text(name: str, folder: Path | None = None) -> str:
    """Answer a policy with all that it inherits, as it is to be stored: it reads without a base."""
    return flatten(load_policies(folder)[name])


def _local(folder: Path, shipped: Mapping[str, Policy]) -> Iterator[tuple[str, Policy]]:
    if not folder.is_dir():
        raise NotADirectoryError(folder)
    for path in sorted(folder.glob("*.toml")):
        if path.stem in shipped:
            message = f"{path.stem} is a shipped policy; expected a name of its own, with based_on"
            raise PolicyError(path.name, 1, message)
        yield path.stem, parse_policy(_read(path), name=path.stem, bases=shipped)


def _read(path: Path) -> str:
    data = path.read_bytes()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = 1 + data[: error.start].count(b"\n")
        raise PolicyError(path.name, line, "not UTF-8; expected a UTF-8 text") from error
