"""The values in a policy file: one table each, or one for each component."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from server.domain.policy.keys import COMPONENTS, DEFAULT, KEY, SECTIONS, Key, place_of
from server.domain.policy.lines import Path
from server.domain.policy.opened import OpenedFile, dotted, near
from server.domain.policy.typed import PlainValue, PolicyValue
from server.domain.policy.value_types import Unfit

HEAD: Final = "policy"
FIELDS: Final = ("value", "unit", "source", "verified", "note")


def read_values(file: OpenedFile) -> dict[str, PolicyValue]:
    """Answer every value that the file states, by its place in `Policy.values`."""
    return {value.key: value for key, table in _tables(file) for value in _read(file, key, table)}


def _tables(file: OpenedFile) -> Iterator[tuple[Key, Mapping[str, Any]]]:
    file.refuse_unknown((), file.tree, (HEAD, *SECTIONS))
    for section in (name for name in file.tree if name != HEAD):
        found = file.tree[section]
        for word, table in file.table((section,), found).items():
            name = f"{section}.{word}"
            if name not in KEY:
                file.refuse((section, word), f"{name} is unknown; {near(name, KEY)}")
            yield KEY[name], file.table((section, word), table)


def _read(file: OpenedFile, key: Key, table: Mapping[str, Any]) -> Iterator[PolicyValue]:
    if not key.by_component:
        yield _value(file, key, key.path, key.name, table)
        return
    file.refuse_unknown(key.path, table, (DEFAULT, *COMPONENTS))
    for component in COMPONENTS:
        named = component if component in table else DEFAULT
        if named in table:
            path = (*key.path, named)
            yield _value(file, key, path, place_of(key, component), table[named])


def _value(file: OpenedFile, key: Key, path: Path, place: str, found: object) -> PolicyValue:
    table = file.table(path, found)
    file.refuse_unknown(path, table, FIELDS)
    _refuse_unit(file, key, path, table)
    return PolicyValue(
        key=place,
        value=_plain(file, key, path, table),
        unit=key.type.unit,
        source=_source(file, path, table),
        verified=_verified(file, path, table),
        note=file.words((*path, "note"), table),
    )


def _plain(file: OpenedFile, key: Key, path: Path, table: Mapping[str, Any]) -> PlainValue:
    if "value" not in table:
        file.refuse(path, f"{dotted(path)} has no value; expected {key.type.expected}")
    try:
        return key.type.read(table["value"])
    except Unfit:
        message = f"{dotted(path)}: {table['value']!r}; expected {key.type.expected}"
        file.refuse((*path, "value"), message)


def _refuse_unit(file: OpenedFile, key: Key, path: Path, table: Mapping[str, Any]) -> None:
    unit = table.get("unit", key.type.unit)
    if unit != key.type.unit:
        file.refuse((*path, "unit"), f"{dotted(path)}: unit {unit!r}; expected {key.type.unit!r}")


def _source(file: OpenedFile, path: Path, table: Mapping[str, Any]) -> str:
    source = file.words((*path, "source"), table)
    if not source:
        message = f"{dotted(path)} has no source; expected the document and its section"
        file.refuse((*path, "source"), message)
    return source


def _verified(file: OpenedFile, path: Path, table: Mapping[str, Any]) -> bool:
    verified = table.get("verified", False)
    if not isinstance(verified, bool):
        message = f"{dotted(path)}: verified {verified!r}; expected true (read in the original)"
        file.refuse((*path, "verified"), f"{message} or false")
    return verified
