"""Signs that definitions count, and which of them a charted symptom stands for.

A symptom is charted in the words of the ward. Some cover more than one sign of a definition: "rash"
on the form means rash, itch or flushing, so it is a sign of the skin and it is not said which.
"""

from collections.abc import Iterable
from typing import Final

RIGORS: Final = "rigors"
SKIN: Final = "skin"
DISTRESS: Final = "respiratory_distress"
OEDEMA: Final = "pulmonary_oedema"
CARDIOVASCULAR: Final = "cardiovascular_change"
OVERLOADED: Final = "fluid_overload"
BIOMARKER: Final = "biomarker"

_MEANS: Final = {
    "rigors": (RIGORS,),
    "chills": (RIGORS,),
    "rash": (SKIN,),
    "hives": ("urticaria",),
    "itch": ("pruritus",),
    "itching": ("pruritus",),
    "swelling": ("angioedema",),
    "breathlessness": (DISTRESS,),
    "dyspnoea": (DISTRESS,),
    "wheeze": (DISTRESS,),
    "pain": ("pain",),
    "pain_at_site": ("pain_at_site",),
    "dark_urine": ("haematuria",),
    "bleeding": ("bleeding",),
}


def signs_of(symptoms: Iterable[str]) -> frozenset[str]:
    """Answer the signs that charted symptoms stand for; an unknown one stands for itself."""
    plain = (symptom.strip().lower().replace(" ", "_") for symptom in symptoms)
    return frozenset(sign for symptom in plain for sign in _MEANS.get(symptom, (symptom,)))


def words_of(signs: Iterable[str]) -> str:
    """Answer signs in words, in the order of the alphabet."""
    return ", ".join(sorted(sign.replace("_", " ") for sign in signs))
