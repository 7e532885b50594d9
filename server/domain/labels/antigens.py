"""Red-cell antigens: sixteen digits, each for two antigens, and what the last two say.

Source: ICCBBA ST-001 v6.2.2 (2023), data structure 012. 9 says that there is no information;
"not tested" and "no information" are both left out here.
"""

from typing import Final

from server.domain.labels.bag import Antigens
from server.domain.labels.refusals import wrong

_PAIRS: Final = (
    ("K", "k"), ("Cw", "Mia"), ("M", "N"), ("S", "s"), ("U", "P1"), ("Lua", "Kpa"), ("Lea", "Leb"),
    ("Fya", "Fyb"), ("Jka", "Jkb"), ("Doa", "Dob"), ("Ina", "Cob"), ("Dia", "VS-V"), ("Jsa", "C"),
    ("c", "E"), ("e", "CMV"),
)  # fmt: skip
_RESULTS: Final = {
    "0": (None, None), "1": (None, "neg"), "2": (None, "pos"), "3": ("neg", None),
    "4": ("neg", "neg"), "5": ("neg", "pos"), "6": ("pos", None), "7": ("pos", "neg"),
    "8": ("pos", "pos"), "9": (None, None),
}  # fmt: skip
# The first digit: C, c, E and e together.
_RH: Final = {
    "0": "+-+-", "1": "+++-", "2": "-++-", "3": "+-++", "4": "++++", "5": "-+++", "6": "+--+",
    "7": "++-+", "8": "-+-+", "9": "",
}  # fmt: skip
_SIGNS: Final = {"+": "pos", "-": "neg"}


def read_antigens(content: str) -> Antigens:
    """Read the eighteen digits behind the identifier."""
    found = {
        name: _SIGNS[sign]
        for name, sign in zip(("C", "c", "E", "e"), _RH[content[0]], strict=False)
    }
    for names, digit in zip(_PAIRS, content[1:16], strict=True):
        for name, result in zip(names, _RESULTS[digit], strict=True):
            if result is not None and found.setdefault(name, result) != result:
                raise wrong(f"says both positive and negative of {name}; expected one of them")
    return Antigens(tuple(found.items()), content[16:])
