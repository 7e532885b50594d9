"""Codes of ABO, RhD, intended use, Rh and Kell.

Source: ICCBBA ST-001 v6.2.2 (2023), data structure 002: table of ABO/RhD codes (RT005), special
messages, and Rh, Kell and Mia/Mur codes. Groups are compared decoded, never as codes: 51 and 48
are both O RhD positive, and 48 is for emergencies only.
"""

from typing import Final

from server.domain.labels.bag import Group, Phenotype
from server.domain.labels.refusals import wrong

DEFAULT: Final = "default"
# The codes of a group stand in a row: what each says of the use, by its distance to the plain one.
_USES: Final = {
    -4: "directed_only",
    -3: "emergency_use_only",
    -2: "directed_biohazard",
    -1: "directed_crossover",
    0: DEFAULT,
    1: "autologous_crossover",
    2: "autologous_only",
    3: "autologous_only_biohazard",
}
_NUMBERED: Final = {
    95: ("O", "neg"), 51: ("O", "pos"), 6: ("A", "neg"), 62: ("A", "pos"),
    17: ("B", "neg"), 73: ("B", "pos"), 28: ("AB", "neg"), 84: ("AB", "pos"),
}  # fmt: skip
_LETTERED: Final = {
    "D": ("para-Bombay", "neg"), "E": ("para-Bombay", "pos"),
    "G": ("Bombay", "neg"), "H": ("Bombay", "pos"),
    "I": ("O para-Bombay", "neg"), "J": ("O para-Bombay", "pos"),
    "K": ("A para-Bombay", "neg"), "N": ("A para-Bombay", "pos"),
    "L": ("B para-Bombay", "neg"), "O": ("B para-Bombay", "pos"),
    "M": ("AB para-Bombay", "neg"), "Q": ("AB para-Bombay", "pos"),
}  # fmt: skip
# Without RhD the plain code is a number and the others have a letter.
_ABO_ONLY: Final = {("55", "P"): "O", ("66", "A"): "A", ("77", "B"): "B", ("88", "C"): "AB"}
_POOLED: Final = {
    "A0": ("A", "pooled"), "B0": ("B", "pooled"), "C0": ("AB", "pooled"), "D0": ("O", "pooled"),
    "E0": ("pooled", "pos"), "F0": ("pooled", "neg"), "G0": ("pooled", "pooled"),
    "H0": ("pooled", None), "I0": ("A1", None), "J0": ("A2", None), "K0": ("A1B", None),
    "L0": ("A2B", None),
}  # fmt: skip
_MESSAGES: Final = {
    "00": None,
    "Ma": "it was collected for its donor",
    "Mb": "it is marked as a biohazard",
    "Md": "it is to be discarded",
    "Mf": "it is for fractionation only",
    "Mq": "it is in quarantine or on hold",
    "Mr": "it is for research only",
    "Mx": "it is not for transfusion, by its test results",
} | {f"T{number}": "it is for tissue products only" for number in range(1, 7)}
_STOPS: Final = {
    "directed_biohazard": "it is marked as a biohazard",
    "autologous_crossover": "it was collected for its donor",
    "autologous_only": "it is for its donor only",
    "autologous_only_biohazard": "it is for its donor only and marked as a biohazard",
}
_SPECIAL: Final = "W"
_RH: Final = (
    "    ",
    "-+-+",
    "++-+",
    "++++",
    "+++-",
    "-+++",
    "-++-",
    "+--+",
    "+-++",
    "+-+-",
    "- - ",
)
_KELL: Final = {"0123456789X": None, "SABCDEFGHIY": "-", "TJKLMNOPQRZ": "+"}


def read_group(content: str) -> Group:
    """Read the four characters behind the identifier: group, Rh and Kell, and a zero."""
    code, phenotype, last = content[:2], content[2], content[3]
    if last != "0":
        raise wrong("ends in another character than 0; expected the group as it is printed")
    if code not in _GROUPS and code not in _MESSAGES:
        raise wrong("holds a group code that is not known; expected one of ISBT 128")
    if phenotype not in _PHENOTYPES:
        raise wrong("holds an Rh and Kell code that is not known; expected one of ISBT 128")
    abo, rhd, use = _GROUPS.get(code, (None, None, "message"))
    return Group(
        code=code,
        abo=abo,
        rhd=rhd,
        use=use,
        stops=_MESSAGES.get(code) or _STOPS.get(use),
        phenotype=_PHENOTYPES[phenotype],
        ask_special_testing=phenotype == _SPECIAL,
    )


def _group_codes() -> dict[str, tuple[str, str | None, str]]:
    codes: dict[str, tuple[str, str | None, str]] = {}
    for step, use in _USES.items():
        for number, (abo, rhd) in _NUMBERED.items():
            codes[f"{number + step:02}"] = (abo, rhd, use)
        for letter, (abo, rhd) in _LETTERED.items():
            codes[f"{letter}{6 + step}"] = (abo, rhd, use)
        for (plain, letter), abo in _ABO_ONLY.items():
            codes[plain if use == DEFAULT else f"{letter}{6 + step}"] = (abo, None, use)
    return codes | {code: (abo, rhd, DEFAULT) for code, (abo, rhd) in _POOLED.items()}


def _phenotypes() -> dict[str, Phenotype]:
    codes = {
        code: Phenotype(kell, *(sign.strip() or None for sign in signs))
        for row, kell in _KELL.items()
        for code, signs in zip(row, _RH, strict=True)
    }
    return codes | {
        "U": Phenotype(mia_mur="-"),
        "V": Phenotype(mia_mur="+"),
        _SPECIAL: Phenotype(),
    }


_GROUPS: Final = _group_codes()
_PHENOTYPES: Final = _phenotypes()
