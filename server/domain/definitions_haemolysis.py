"""Acute haemolytic reactions: the ward charts the signs, the laboratory the proof."""

from typing import Final

from server.domain.definition import Charted, Definition, Finding, Reaction, cannot_say, not_met
from server.domain.definitions_fever import FEVER, ONE
from server.domain.news2 import tenths
from server.domain.reaction_signs import RIGORS, words_of

SIGNS: Final = frozenset(
    {
        "pain",
        RIGORS,
        "bleeding",
        "haematuria",
        "hypotension",
        "oliguria",
        "pain_at_site",
        "renal_failure",
    }
)


def _cdc(charted: Charted) -> Finding:
    found = charted.signs & SIGNS
    if found or _has_fever(charted):
        said = words_of(found | ({"fever"} if _has_fever(charted) else frozenset()))
        return cannot_say(f"{said}; the laboratory's findings are not charted")
    return not_met("none of its signs is charted")


def _has_fever(charted: Charted) -> bool:
    now, rise = charted.now("temperature_c"), charted.rise_tenths
    return now is not None and tenths(now) >= FEVER and rise is not None and rise >= ONE


HAEMOLYTIC: Final = (
    Definition(
        "cdc_haemolytic",
        "CDC NHSN, United States",
        Reaction.HAEMOLYTIC,
        24,
        "NHSN Hemovigilance Module Surveillance Protocol: one sign and two findings of the"
        " laboratory (counts from memory), up to 24 h after the end",
        _cdc,
        lacks="the findings of the laboratory",
    ),
)
