"""The compatibility table of a site in words: groups, RhD, special requirements, sources."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from server.domain.requirements import WORDS
from server.domain.site import (
    DONORS,
    RECIPIENTS,
    RHD,
    UNKNOWN,
    Cell,
    CompatibilityTable,
    ComponentTable,
    Match,
    RhdCell,
)
from server.domain.wording import COMPONENT
from server.domain.words import Component
from server.pages.compatibility_view import LEVELS, MARKS

SIGNS: Final = {"pos": "RhD positive", "neg": "RhD negative", UNKNOWN: "RhD not known"}


@dataclass(frozen=True, slots=True)
class CellView:
    """What the table says of one unit for one patient: the level as a tag, and its note."""

    unit: str
    priority: str
    mark: str
    word: str
    note: str


@dataclass(frozen=True, slots=True)
class RowView:
    """One patient group, and every unit for it in the order of the columns."""

    patient: str
    cells: tuple[CellView, ...]


@dataclass(frozen=True, slots=True)
class ComponentView:
    """One component; `rhd` is empty where RhD is not matched."""

    key: str
    title: str
    source: str
    rows: tuple[RowView, ...]
    rhd: tuple[RowView, ...]
    rhd_source: str


@dataclass(frozen=True, slots=True)
class TableView:
    """The whole table. `reasons` are sentences on when a start needs a recorded reason."""

    version: str
    is_signed: bool
    reasons: tuple[str, ...]
    donors: tuple[str, ...]
    signs: tuple[str, ...]
    components: tuple[ComponentView, ...]
    requirements: tuple[tuple[str, str, str], ...]


def table_view(table: CompatibilityTable) -> TableView:
    """Answer the table as it is loaded, in the order of its file."""
    return TableView(
        version=table.version,
        is_signed=table.is_signed,
        reasons=tuple(_reasons(table)),
        donors=tuple(f"Unit {group}" for group in DONORS),
        signs=tuple(f"Unit {SIGNS[sign]}" for sign in RHD),
        components=tuple(_component(name, one) for name, one in table.components.items()),
        requirements=tuple(
            (WORDS[name], ", ".join(COMPONENT[one] for one in sorted(row.components)), row.source)
            for name, row in table.requirements.items()
        ),
    )


def _reasons(table: CompatibilityTable) -> Iterable[str]:
    yield f"A start needs a recorded reason at: {_levels(table.needs_reason)}."
    yield f"While the patient’s group is not recorded, at: {_levels(table.unknown_needs_reason)}."
    yield (
        "RhD positive red cells would harm these most: patients under "
        f"{table.child_under_years} years, and those up to {table.childbearing_until_years} "
        "who may bear a child; sex is not recorded, so nobody up to that age is left out."
    )


def _levels(levels: Iterable[Match]) -> str:
    named = set(levels)
    return ", ".join(word for level, (_, word) in LEVELS.items() if level in named) or "no level"


def _component(name: Component, one: ComponentTable) -> ComponentView:
    return ComponentView(
        key=name.value,
        title=COMPONENT[name],
        source=one.source,
        rows=tuple(_row(group, one.abo[group]) for group in RECIPIENTS),
        rhd=() if one.rhd is None else tuple(_rhd_row(sign, c) for sign, c in one.rhd.items()),
        rhd_source=one.rhd_source,
    )


def _row(group: str, cells: Mapping[str, Cell]) -> RowView:
    patient = "Group not known" if group == UNKNOWN else f"Patient {group}"
    found = (_cell(f"Unit {one}", cells[one].level, cells[one].note) for one in DONORS)
    return RowView(patient, tuple(found))


def _rhd_row(sign: str, cells: Mapping[str, RhdCell]) -> RowView:
    found = (_cell(f"Unit {SIGNS[one]}", cells[one].level, _rhd_note(cells[one])) for one in RHD)
    return RowView(f"Patient {SIGNS[sign]}", tuple(found))


def _rhd_note(cell: RhdCell) -> str:
    """The note, the level for those at risk where it is another, and whom it has to be told."""
    risk = "" if cell.at_risk is cell.level else f"{LEVELS[cell.at_risk][1]} for those at risk"
    told = "the laboratory and the prescriber hear of it" if cell.anti_d else ""
    return "; ".join(part for part in (cell.note, risk, told) if part)


def _cell(unit: str, level: Match, note: str) -> CellView:
    priority, word = LEVELS[level]
    return CellView(unit, priority, MARKS[priority], word, note)
