"""The cells of `compatibility.toml`: donor by patient, and RhD by RhD."""

from collections.abc import Mapping
from typing import Any, Final

from server.domain.policy.lines import Path
from server.domain.policy.opened import OpenedFile, dotted, near
from server.domain.site import DONORS, RECIPIENTS, RHD, UNKNOWN, Cell, Match, RhdCell

NOT_MATCHED: Final = "not matched"
RHD_PATIENTS: Final = (*RHD, UNKNOWN)
RhdRows = Mapping[str, Mapping[str, RhdCell]]


def read_abo(file: OpenedFile, path: Path, table: Mapping[str, Any]) -> dict[str, dict[str, Cell]]:
    """Read one component: every patient's group, for each every donor's in order of preference."""
    file.refuse_unknown(path, table, (*RECIPIENTS, "source", "rhd"))
    return {one: _donors(file, (*path, one), table.get(one)) for one in RECIPIENTS}


def read_rhd(file: OpenedFile, path: Path, found: object) -> tuple[RhdRows | None, str]:
    """Read how RhD is matched, and who says so; None where the file says that it is not."""
    if found == NOT_MATCHED:
        return None, ""
    if not isinstance(found, dict):
        file.refuse(path, f'{dotted(path)}: {found!r}; expected a table or "{NOT_MATCHED}"')
    file.refuse_unknown(path, found, (*RHD_PATIENTS, "source"))
    source = read_source(file, path, found)
    return {one: _units(file, (*path, one), found.get(one)) for one in RHD_PATIENTS}, source


def read_source(file: OpenedFile, path: Path, table: Mapping[str, Any]) -> str:
    """Read who says so; it may not be missing."""
    source = file.words((*path, "source"), table)
    if not source:
        file.refuse(path, f"{dotted(path)}.source is missing; expected where it comes from")
    return source


def _level(file: OpenedFile, path: Path, found: object) -> Match:
    if not isinstance(found, str) or found not in tuple(Match):
        file.refuse(path, f"{dotted(path)}: {found!r}; {near(str(found), tuple(Match))}")
    return Match(found)


def _donors(file: OpenedFile, path: Path, found: object) -> dict[str, Cell]:
    table = _complete(file, path, found, DONORS)
    return {donor: _cell(file, (*path, donor), table[donor]) for donor in table}


def _cell(file: OpenedFile, path: Path, found: object) -> Cell:
    table = file.table(path, found)
    file.refuse_unknown(path, table, ("level", "note"))
    level = _level(file, (*path, "level"), table.get("level"))
    return Cell(level, file.words((*path, "note"), table))


def _units(file: OpenedFile, path: Path, found: object) -> dict[str, RhdCell]:
    table = _complete(file, path, found, RHD)
    return {unit: _rhd_cell(file, (*path, unit), table[unit]) for unit in table}


def _rhd_cell(file: OpenedFile, path: Path, found: object) -> RhdCell:
    table = file.table(path, found)
    file.refuse_unknown(path, table, ("level", "at_risk", "anti_d", "note"))
    level = _level(file, (*path, "level"), table.get("level"))
    at_risk = _level(file, (*path, "at_risk"), table.get("at_risk", level.value))
    anti_d = table.get("anti_d", False)
    if not isinstance(anti_d, bool):
        file.refuse((*path, "anti_d"), f"{dotted(path)}.anti_d: {anti_d!r}; expected true or false")
    return RhdCell(level, at_risk, anti_d, file.words((*path, "note"), table))


def _complete(
    file: OpenedFile, path: Path, found: object, names: tuple[str, ...]
) -> Mapping[str, Any]:
    """A table that has each of the names, and nothing else."""
    table = file.table(path, found)
    file.refuse_unknown(path, table, names)
    for name in names:
        if name not in table:
            file.refuse(path, f"{dotted((*path, name))} is missing; expected a level for it")
    return table
