"""Whether the group of a unit suits the group of a patient, as the site's table says.

Red cells and plasma run in opposite directions, so the component decides which table is read.
A verdict can only warn or stop: the laboratory's issue decision is the authority.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from server.domain.site import UNKNOWN, WORST_FIRST, Cell, CompatibilityTable, Match, RhdCell
from server.domain.wording import COMPONENT
from server.domain.words import BloodGroup, Component

AUTHORITY: Final = (
    "The laboratory’s issue decision is the authority; this check only warns or stops."
)
LEVEL: Final = {
    Match.FIRST: "first choice",
    Match.ACCEPTABLE: "acceptable",
    Match.CONDITIONAL: "only under conditions: needs the titre and local policy",
    Match.EMERGENCY_ONLY: "in an emergency only, with a recorded authorisation",
    Match.NOT_LISTED: "not in the table: stop and ask the laboratory",
    Match.NEVER: "never: stop",
}


@dataclass(frozen=True, slots=True)
class Recipient:
    """What is known of the patient. Sex is not recorded, so only age and pregnancy tell of risk."""

    group: BloodGroup | None
    age_years: int | None = None
    pregnant: bool | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the table says. `level` is the worse of `abo` and `rhd`; `rhd` None: not matched.

    `anti_d`: the laboratory and the prescriber have to hear that RhD positive cells are given.
    """

    level: Match
    abo: Match
    rhd: Match | None
    words: tuple[str, ...]
    source: str
    anti_d: bool = False


def judge(
    component: Component, unit: BloodGroup, recipient: Recipient, table: CompatibilityTable
) -> Verdict:
    """Judge a unit's group for a patient by a table."""
    found = table.components[component]
    abo = found.abo[_abo(recipient.group)][_abo(unit)]
    cell = None if found.rhd is None else found.rhd[_rhd(recipient.group)][_rhd(unit)]
    if cell is None:
        said = (_headline(component, unit, recipient, abo.level), *_note(abo))
        return Verdict(abo.level, abo.level, None, said, found.source)
    return _both(component, unit, recipient, (abo, cell), table)


def _both(
    component: Component,
    unit: BloodGroup,
    recipient: Recipient,
    cells: tuple[Cell, RhdCell],
    table: CompatibilityTable,
) -> Verdict:
    abo, rhd = cells
    found, risk = table.components[component], is_at_risk(recipient, table)
    rhd_level = rhd.at_risk if risk else rhd.level
    level = worse(abo.level, rhd_level)
    decides = rhd_level is level or rhd.anti_d
    matters = decides and (rhd.at_risk is not rhd.level or rhd.anti_d)
    notes = (*_note(abo), *(_note(rhd) if decides else ()))
    said = [_headline(component, unit, recipient, level), *notes]
    return Verdict(
        level=level,
        abo=abo.level,
        rhd=rhd_level,
        words=(*said, *(_of_risk(recipient, table) if matters else ())),
        source="; ".join(dict.fromkeys((found.source, found.rhd_source))),
        anti_d=rhd.anti_d and risk is not False,
    )


def worse(one: Match, other: Match) -> Match:
    """The worse of two levels."""
    return min(one, other, key=WORST_FIRST.index)


def is_at_risk(recipient: Recipient, table: CompatibilityTable) -> bool | None:
    """Whether anti-D would harm this patient most: a child, or who may still bear one.

    None: cannot be told from what is recorded.
    """
    age = recipient.age_years
    if recipient.pregnant or (age is not None and age < table.child_under_years):
        return True
    return False if age is not None and age > table.childbearing_until_years else None


def group_words(group: BloodGroup | None) -> str:
    """A group as it is shown, with a true minus sign."""
    return "unknown" if group is None else group.value.replace("-", "\N{MINUS SIGN}")


def _headline(component: Component, unit: BloodGroup, recipient: Recipient, level: Match) -> str:
    if recipient.group is None:
        known = f"{COMPONENT[component]}, unit {group_words(unit)}, patient’s group not recorded"
        return f"{known}: ask the laboratory. While it is unknown: {LEVEL[level]}."
    groups = f"unit {group_words(unit)}, patient {group_words(recipient.group)}"
    return f"{COMPONENT[component]}, {groups}: {LEVEL[level]}."


def _note(cell: Cell | RhdCell) -> Iterator[str]:
    if cell.note:
        yield f"{cell.note[0].upper()}{cell.note[1:]}."


def _of_risk(recipient: Recipient, table: CompatibilityTable) -> Iterator[str]:
    risk = is_at_risk(recipient, table)
    if risk is None:
        unknown = "Sex is" if recipient.age_years is not None else "Sex and age are"
        yield f"{unknown} not recorded: that the patient may bear a child cannot be excluded."
    elif risk:
        child = recipient.age_years is not None and recipient.age_years < table.child_under_years
        yield "The patient is a child." if child else "The patient is pregnant."
    yield "Anti-D in the past and expected further transfusions are not recorded here."


def _abo(group: BloodGroup | None) -> str:
    return UNKNOWN if group is None else group.value[:-1]


def _rhd(group: BloodGroup | None) -> str:
    return UNKNOWN if group is None else {"+": "pos", "-": "neg"}[group.value[-1]]
