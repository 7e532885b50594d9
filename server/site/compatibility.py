"""`compatibility.toml`: which donor group suits which patient, signed off by a clinician."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from hashlib import sha256
from typing import Any, Final

from server.domain.policy.build import VERSION_LENGTH
from server.domain.policy.lines import Path
from server.domain.policy.opened import OpenedFile, dotted, near, open_file
from server.domain.requirements import Requirement
from server.domain.site import (
    ALWAYS_STOP,
    CompatibilityTable,
    ComponentTable,
    Match,
    RequirementRow,
)
from server.domain.words import Component
from server.site.cells import read_abo, read_rhd, read_source
from server.site.red_lines import refuse_forbidden

COMPONENTS: Final = tuple(one.value for one in Component)
HEAD: Final = ("signed_off", "start", "patients", "requirements")
STOPPING: Final = ("needs_reason", "unknown_needs_reason")
AGES: Final = ("child_under_years", "childbearing_until_years")
OLDEST: Final = 120


def read_compatibility(text: str) -> CompatibilityTable:
    """Read the table strictly. Raises `PolicyError` with the line of what is wrong."""
    file = open_file(text, "compatibility")
    file.refuse_unknown((), file.tree, (*HEAD, *COMPONENTS))
    signed_by, signed_on = _signed(file)
    known, unknown = _stopping(file)
    child, childbearing = _ages(file)
    table = CompatibilityTable(
        version=sha256(text.encode()).hexdigest()[:VERSION_LENGTH],
        signed_by=signed_by,
        signed_on=signed_on,
        needs_reason=known,
        unknown_needs_reason=unknown,
        components=dict(_components(file)),
        child_under_years=child,
        childbearing_until_years=childbearing,
        requirements=dict(_requirements(file)),
    )
    refuse_forbidden(file, table)
    return table


def _signed(file: OpenedFile) -> tuple[str, date | None]:
    """Who signed, and when: both or neither."""
    path: Path = ("signed_off",)
    table = file.table(path, file.tree.get("signed_off"))
    file.refuse_unknown(path, table, ("name", "on"))
    name, on = file.words((*path, "name"), table), _day(file, (*path, "on"), table.get("on", ""))
    if bool(name) != (on is not None):
        missing = "on" if name else "name"
        file.refuse((*path, missing), f"signed_off.{missing} is empty; expected both or neither")
    return name, on


def _day(file: OpenedFile, path: Path, found: object) -> date | None:
    if found == "":
        return None
    if isinstance(found, date) and not isinstance(found, datetime):
        return found
    try:
        return date.fromisoformat(str(found))
    except ValueError:
        file.refuse(path, f"{dotted(path)}: {found!r}; expected a day such as 2026-11-27")


def _stopping(file: OpenedFile) -> tuple[frozenset[Match], frozenset[Match]]:
    """The levels that need a reason: for a group that is recorded, and for one that is not."""
    path: Path = ("start",)
    table = file.table(path, file.tree.get("start"))
    file.refuse_unknown(path, table, STOPPING)
    known, unknown = (_levels(file, (*path, name), table.get(name)) for name in STOPPING)
    lacking = [one.value for one in Match if one in ALWAYS_STOP - known]
    if lacking:
        place = (*path, STOPPING[0])
        file.refuse(place, f"{dotted(place)} lacks {', '.join(lacking)}; these always stop")
    return known, unknown


def _levels(file: OpenedFile, path: Path, found: object) -> frozenset[Match]:
    if found == []:
        return frozenset()
    return frozenset(Match(one) for one in _listed(file, path, found, tuple(Match)))


def _ages(file: OpenedFile) -> tuple[int, int]:
    path: Path = ("patients",)
    table = file.table(path, file.tree.get("patients"))
    file.refuse_unknown(path, table, (*AGES, "source"))
    read_source(file, path, table)
    child, childbearing = (_age(file, (*path, name), table.get(name)) for name in AGES)
    return child, childbearing


def _age(file: OpenedFile, path: Path, found: object) -> int:
    if isinstance(found, bool) or not isinstance(found, int) or not 0 <= found <= OLDEST:
        file.refuse(path, f"{dotted(path)}: {found!r}; expected whole years from 0 to {OLDEST}")
    return found


def _components(file: OpenedFile) -> Iterator[tuple[Component, ComponentTable]]:
    for name in COMPONENTS:
        table = file.table((name,), file.tree.get(name))
        yield Component(name), _component(file, (name,), table)


def _component(file: OpenedFile, path: Path, table: Mapping[str, Any]) -> ComponentTable:
    rhd, rhd_source = read_rhd(file, (*path, "rhd"), table.get("rhd"))
    return ComponentTable(
        source=read_source(file, path, table),
        abo=read_abo(file, path, table),
        rhd=rhd,
        rhd_source=rhd_source,
    )


def _requirements(file: OpenedFile) -> Iterator[tuple[Requirement, RequirementRow]]:
    path: Path = ("requirements",)
    table = file.table(path, file.tree.get("requirements"))
    file.refuse_unknown(path, table, tuple(Requirement))
    for one in Requirement:
        place: Path = (*path, one.value)
        row = file.table(place, table.get(one.value))
        file.refuse_unknown(place, row, ("components", "source"))
        listed = _listed(file, (*place, "components"), row.get("components"), COMPONENTS)
        components = frozenset(Component(name) for name in listed)
        yield one, RequirementRow(components, read_source(file, place, row))


def _listed(file: OpenedFile, path: Path, found: object, known: tuple[str, ...]) -> tuple[str, ...]:
    if not isinstance(found, list) or not found:
        expected = f"a list of at least one of {', '.join(known)}"
        file.refuse(path, f"{dotted(path)}: {found!r}; expected {expected}")
    for word in found:
        if word not in known:
            file.refuse(path, f"{dotted(path)}: {word!r} is unknown; {near(str(word), known)}")
    return tuple(found)
