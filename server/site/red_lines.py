"""What no site may write into its table, signed or not.

Red cells that carry an antigen which the patient's plasma has antibodies against can kill: JPAC
Transfusion Handbook, 5th ed., 2.4, Table 2.1 (antigens and antibodies of the ABO groups).
"""

from collections.abc import Iterator
from typing import Final

from server.domain.policy.lines import Path
from server.domain.policy.opened import OpenedFile, dotted
from server.domain.site import UNKNOWN, CompatibilityTable, Match
from server.domain.words import Component

ANTIGENS: Final = {"O": "", "A": "A", "B": "B", "AB": "AB", UNKNOWN: ""}
WITH_RED_CELLS: Final = (Component.RED_CELLS, Component.WHOLE_BLOOD, Component.GRANULOCYTES)


def refuse_forbidden(file: OpenedFile, table: CompatibilityTable) -> None:
    """Refuse the first cell that gives red cells across the ABO barrier. Raises `PolicyError`."""
    for path, level in _incompatible(table):
        if level is not Match.NEVER:
            message = f"{dotted(path)}: {level}; red cells across the ABO barrier are never given"
            file.refuse(path, f"{message}, expected never")


def _incompatible(table: CompatibilityTable) -> Iterator[tuple[Path, Match]]:
    for component in WITH_RED_CELLS:
        for patient, donors in table.components[component].abo.items():
            for donor, cell in donors.items():
                if not set(ANTIGENS[donor]) <= set(ANTIGENS[patient]):
                    yield (component.value, patient, donor), cell.level
