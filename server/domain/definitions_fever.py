"""Febrile reactions, by five published definitions that disagree on purpose.

CDC NHSN wants 38 °C and a rise of 1 °C together; Australia 2015 takes either. The United Kingdom
and Lifeblood grade differently, and the Netherlands look at the rise alone. All figures were read
in secondary copies; they are held together by `tests/standards/test_reaction_definitions.py`.
"""

from typing import Final

from server.domain.definition import (
    OTHER_CAUSES,
    Charted,
    Definition,
    Finding,
    Reaction,
    cannot_say,
    met,
    not_met,
)
from server.domain.news2 import tenths
from server.domain.reaction_signs import RIGORS

FEVER: Final = 380
HIGH_FEVER: Final = 390
ONE: Final = 10
ONE_AND_A_HALF: Final = 15
TWO: Final = 20
NO_BASELINE: Final = "no temperature from before the start to compare with"


def _figures(charted: Charted) -> tuple[int, int | None] | None:
    """The temperature and its rise in tenths, None if it was not taken."""
    now = charted.now("temperature_c")
    return None if now is None else (tenths(now), charted.rise_tenths)


def _said(now: int, rise: int | None) -> str:
    risen = "" if rise is None else f", {'rise' if rise >= 0 else 'fall'} {abs(rise) / 10:.1f} °C"
    return f"{now / 10:.1f} °C{risen}"


def _cdc(charted: Charted) -> Finding | None:
    figures = _figures(charted)
    if RIGORS in charted.signs:
        return met("chills or rigors")
    if figures is None:
        return None
    now, rise = figures
    if now >= FEVER and rise is None:
        return cannot_say(f"{_said(now, rise)}; {NO_BASELINE}")
    if now >= FEVER and rise is not None and rise >= ONE:
        return met(_said(now, rise))
    return not_met(_said(now, rise))


def _uk(charted: Charted) -> Finding | None:
    figures = _figures(charted)
    if RIGORS in charted.signs:
        return met("chills or rigors", "moderate")
    if figures is None:
        return None
    now, rise = figures
    if now >= HIGH_FEVER or (rise is not None and rise >= TWO):
        return met(_said(now, rise), "moderate")
    if rise is None:
        return cannot_say(f"{_said(now, rise)}; {NO_BASELINE}")
    return (
        met(_said(now, rise), "mild") if now >= FEVER and rise >= ONE else not_met(_said(now, rise))
    )


def _au(charted: Charted) -> Finding | None:
    return _either(charted, (FEVER, ONE, ""))


def _lifeblood(charted: Charted) -> Finding | None:
    severe = (HIGH_FEVER, ONE_AND_A_HALF, "moderate-severe")
    return _either(charted, severe, (FEVER, ONE, "mild"))


def _either(charted: Charted, *grades: tuple[int, int, str]) -> Finding | None:
    """The first grade whose temperature or whose rise is reached."""
    figures = _figures(charted)
    if figures is None:
        return None
    now, rise = figures
    for temperature, least_rise, grade in grades:
        if now >= temperature or (rise is not None and rise >= least_rise):
            return met(_said(now, rise), grade)
    if rise is None:
        return cannot_say(f"{_said(now, rise)}; {NO_BASELINE}")
    return not_met(_said(now, rise))


def _nl(charted: Charted) -> Finding | None:
    figures = _figures(charted)
    if figures is None:
        return None
    now, rise = figures
    if rise is None:
        return cannot_say(f"{_said(now, rise)}; {NO_BASELINE}")
    if rise >= TWO:
        return met(_said(now, rise), "non-haemolytic febrile")
    return met(_said(now, rise), "mild febrile") if rise >= ONE else not_met(_said(now, rise))


FEBRILE: Final = (
    Definition(
        "cdc_febrile",
        "CDC NHSN, United States",
        Reaction.FEBRILE,
        4,
        "NHSN Hemovigilance Module Surveillance Protocol: 38.0 °C and a rise of 1.0 °C, or chills"
        " or rigors, up to 4 h after the end",
        _cdc,
        lacks=OTHER_CAUSES,
    ),
    Definition(
        "uk_febrile",
        "BSH and SHOT, United Kingdom",
        Reaction.FEBRILE,
        24,
        "BSH, Acute Transfusion Reactions, 2012: mild 38 °C and a rise of 1 to 2 °C; moderate"
        " 39 °C, a rise of 2 °C, or rigors; up to 24 h (SHOT)",
        _uk,
        ("mild", "moderate"),
        OTHER_CAUSES,
    ),
    Definition(
        "au_febrile",
        "National haemovigilance 2015, Australia",
        Reaction.FEBRILE,
        4,
        "National Blood Authority, Australian haemovigilance, 2015, app. II: 38 °C or a rise of"
        " 1 °C, up to 4 h after the end",
        _au,
        lacks=OTHER_CAUSES,
    ),
    Definition(
        "lifeblood_febrile",
        "Lifeblood, Australia",
        Reaction.FEBRILE,
        4,
        "Australian Red Cross Lifeblood, febrile reaction page: mild 38 °C or a rise of 1 to"
        " 1.5 °C; moderate to severe 39 °C or a rise of 1.5 °C; up to 4 h after the end",
        _lifeblood,
        ("mild", "moderate-severe"),
        OTHER_CAUSES,
    ),
    Definition(
        "nl_febrile",
        "TRIP, Netherlands",
        Reaction.FEBRILE,
        2,
        "TRIP, definitions: mild febrile a rise of 1 to 2 °C, non-haemolytic febrile 2 °C or more,"
        " up to 2 h after the end",
        _nl,
        ("mild febrile", "non-haemolytic febrile"),
        OTHER_CAUSES,
    ),
)
