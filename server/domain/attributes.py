"""What a label, a product description or the laboratory can say of a unit, by name."""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from enum import StrEnum
from typing import Final

from server.domain.errors import Invalid


class Attribute(StrEnum):
    """One thing that a label can say."""

    IRRADIATED = "irradiated"
    WASHED = "washed"
    LEUCODEPLETED = "leucodepleted"
    CMV_NEGATIVE = "cmv_negative"
    CMV_POSITIVE = "cmv_positive"
    HEV_NEGATIVE = "hev_negative"
    HEV_POSITIVE = "hev_positive"
    PHENOTYPE_MATCHED = "phenotype_matched"
    ANTIGEN_NEGATIVE = "antigen_negative"
    K_NEGATIVE = "k_negative"
    K_POSITIVE = "k_positive"
    HBS_NEGATIVE = "hbs_negative"
    HLA_MATCHED = "hla_matched"
    HIGH_TITRE_NEGATIVE = "high_titre_negative"
    HIGH_TITRE = "high_titre"
    BIOHAZARD = "biohazard"
    AUTOLOGOUS = "autologous"
    QUARANTINED = "quarantined"
    NOT_FOR_TRANSFUSION = "not_for_transfusion"
    ASK_LABORATORY = "ask_laboratory"
    EMERGENCY_USE = "emergency_use"
    DIRECTED = "directed"


WORDS: Final[Mapping[Attribute, str]] = {
    Attribute.IRRADIATED: "irradiated",
    Attribute.WASHED: "washed",
    Attribute.LEUCODEPLETED: "leucodepleted",
    Attribute.CMV_NEGATIVE: "CMV negative",
    Attribute.CMV_POSITIVE: "CMV positive",
    Attribute.HEV_NEGATIVE: "HEV negative",
    Attribute.HEV_POSITIVE: "HEV positive",
    Attribute.PHENOTYPE_MATCHED: "phenotype matched",
    Attribute.ANTIGEN_NEGATIVE: "antigen negative",
    Attribute.K_NEGATIVE: "K negative",
    Attribute.K_POSITIVE: "K positive",
    Attribute.HBS_NEGATIVE: "HbS negative",
    Attribute.HLA_MATCHED: "HLA matched",
    Attribute.HIGH_TITRE_NEGATIVE: "high-titre negative",
    Attribute.HIGH_TITRE: "high titre",
    Attribute.BIOHAZARD: "biohazard",
    Attribute.AUTOLOGOUS: "for its own donor",
    Attribute.QUARANTINED: "in quarantine",
    Attribute.NOT_FOR_TRANSFUSION: "not for transfusion",
    Attribute.ASK_LABORATORY: "group for the laboratory to judge",
    Attribute.EMERGENCY_USE: "emergency use only",
    Attribute.DIRECTED: "for one named patient",
}
"""How a screen says an attribute."""

STOPS: Final[Mapping[Attribute, str]] = {
    Attribute.BIOHAZARD: "the label says biohazard",
    Attribute.AUTOLOGOUS: "the label says that the unit is for its own donor",
    Attribute.QUARANTINED: "the label says that the unit is in quarantine",
    Attribute.NOT_FOR_TRANSFUSION: "the label says that the unit is not for transfusion",
    Attribute.ASK_LABORATORY: "the group code of the label is for the laboratory to judge",
}
"""What on a label stops a unit, whatever its group."""

WARNS: Final[Mapping[Attribute, str]] = {
    Attribute.EMERGENCY_USE: "the label says for emergency use only",
    Attribute.DIRECTED: "the label says that the unit is meant for one named patient",
}
"""What on a label has to be looked at, and stops nothing by itself."""


def require_attributes(names: Iterable[str]) -> None:
    """Refuse a name that is no attribute, or one that is given twice. Raises `Invalid`."""
    seen: set[str] = set()
    for name in names:
        if name not in tuple(Attribute):
            near = get_close_matches(name, tuple(Attribute), n=1) or [", ".join(Attribute)]
            raise Invalid("attributes", f"“{name[:40]}” is unknown; expected {near[0]}")
        if name in seen:
            raise Invalid("attributes", f"{name} is named twice; expected each once")
        seen.add(name)
