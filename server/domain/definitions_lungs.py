"""Overload, lung injury and dyspnoea: mostly what a ward does not chart, so mostly the windows.

A definition that has passed its window is not met. Inside it, the signs that are charted are
counted, and what imaging, balance and biomarkers would say is left open.
"""

from typing import Final

from server.domain.definition import (
    Charted,
    Definition,
    Finding,
    Judge,
    Reaction,
    Verdict,
    cannot_say,
    met,
    not_met,
)
from server.domain.definitions_allergic import SKIN_SIGNS, SWELLINGS
from server.domain.reaction_signs import (
    BIOMARKER,
    CARDIOVASCULAR,
    DISTRESS,
    OEDEMA,
    OVERLOADED,
    words_of,
)

FIVE: Final = frozenset({DISTRESS, OEDEMA, CARDIOVASCULAR, OVERLOADED, BIOMARKER})
SIX_OF_2016: Final = frozenset(
    {DISTRESS, BIOMARKER, "raised_cvp", "left_heart_failure", OVERLOADED, OEDEMA}
)
FIVE_OF_2011: Final = frozenset({DISTRESS, "tachycardia", "hypertension", OEDEMA, OVERLOADED})
LUNG: Final = frozenset({DISTRESS, OEDEMA})
INFILTRATES: Final = "bilateral_infiltrates"
HYPOXAEMIA_BELOW: Final = 90
OVERLOAD_HOURS: Final = 12
NONE: Final = "none of its signs is charted"
LACKS: Final = "imaging, fluid balance and biomarkers"


def _count(criteria: frozenset[str], least: int, one_of: frozenset[str]) -> Judge:
    """At least so many of the criteria, one of them among `one_of`."""

    def judge(charted: Charted) -> Finding:
        found = charted.signs & criteria
        if not found:
            return not_met(NONE)
        said = f"{len(found)} of {least}: {words_of(found)}"
        return met(said) if len(found) >= least and found & one_of else cannot_say(said)

    return judge


OVERLOAD_2018: Final = _count(FIVE, 3, LUNG)


def _lung_injury(charted: Charted) -> Finding:
    hypoxaemic = _is_hypoxaemic(charted)
    if hypoxaemic and INFILTRATES in charted.signs and not charted.signs & {OVERLOADED}:
        return met("SpO₂ below 90 % on air and bilateral infiltrates")
    if hypoxaemic or charted.signs & (LUNG | {INFILTRATES}):
        said = "SpO₂ below 90 % on air" if hypoxaemic else words_of(charted.signs & LUNG)
        return cannot_say(f"{said or words_of({INFILTRATES})}; imaging is not charted")
    return not_met(NONE)


def _is_hypoxaemic(charted: Charted) -> bool:
    spo2, later = charted.now("spo2_percent"), charted.later
    on_oxygen = later is not None and later.on_oxygen
    return spo2 is not None and spo2 < HYPOXAEMIA_BELOW and not on_oxygen


def _dyspnoea(charted: Charted) -> Finding:
    if DISTRESS not in charted.signs:
        return not_met("no respiratory distress is charted")
    overload = OVERLOAD_2018(charted)
    in_window = charted.hours_after_end <= OVERLOAD_HOURS
    if in_window and overload is not None and overload.verdict is Verdict.MET:
        return not_met("overload is met")
    if charted.signs & (SKIN_SIGNS | SWELLINGS):
        return cannot_say("respiratory distress with signs of an allergic reaction")
    return cannot_say("respiratory distress; overload and lung injury have to be excluded")


LUNGS: Final = (
    Definition(
        "isbt_2018_overload",
        "ISBT, IHN and AABB 2018",
        Reaction.OVERLOAD,
        OVERLOAD_HOURS,
        "ISBT, IHN and AABB, TACO, 2018: three or more of respiratory distress, pulmonary oedema,"
        " cardiovascular change, fluid overload, biomarker, with one of the first two; up to 12 h",
        OVERLOAD_2018,
        lacks=LACKS,
    ),
    Definition(
        "cdc_2021_overload",
        "CDC NHSN from 2021, United States",
        Reaction.OVERLOAD,
        OVERLOAD_HOURS,
        "NHSN Hemovigilance Module Surveillance Protocol, 2021: as ISBT 2018, up to 12 h"
        " (from memory)",
        OVERLOAD_2018,
        lacks=LACKS,
    ),
    Definition(
        "cdc_2016_overload",
        "CDC NHSN 2016, United States",
        Reaction.OVERLOAD,
        6,
        "NHSN Hemovigilance Module Surveillance Protocol, 2016: three or more of respiratory"
        " distress, BNP, central venous pressure, left heart failure, fluid balance, radiographic"
        " oedema; up to 6 h",
        _count(SIX_OF_2016, 3, SIX_OF_2016),
        lacks=LACKS,
    ),
    Definition(
        "isbt_2011_overload",
        "ISBT 2011",
        Reaction.OVERLOAD,
        6,
        "ISBT, TACO, 2011: any four of respiratory distress, tachycardia, hypertension, pulmonary"
        " oedema, fluid balance; up to 6 h",
        _count(FIVE_OF_2011, 4, FIVE_OF_2011),
        lacks=LACKS,
    ),
    Definition(
        "consensus_lung_injury",
        "Consensus 2004 and 2019, as in CDC NHSN",
        Reaction.LUNG_INJURY,
        6,
        "TRALI consensus 2004, redefined 2019: hypoxaemia (SpO2 below 90 % on air, or PaO2/FiO2"
        " of 300 mmHg or less), bilateral infiltrates, no overload as the main cause; up to 6 h",
        _lung_injury,
        lacks="imaging, and that the left atrium is not the cause",
    ),
    Definition(
        "cdc_dyspnoea",
        "CDC NHSN, United States",
        Reaction.DYSPNOEA,
        24,
        "NHSN Hemovigilance Module Surveillance Protocol: respiratory distress that is no allergic"
        " reaction, overload or lung injury, up to 24 h (from memory)",
        _dyspnoea,
        lacks="that the other three are excluded",
    ),
)
