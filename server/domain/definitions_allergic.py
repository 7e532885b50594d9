"""Allergic reactions, by three published definitions."""

from typing import Final

from server.domain.definition import (
    Charted,
    Definition,
    Finding,
    Reaction,
    cannot_say,
    met,
    not_met,
)
from server.domain.reaction_signs import DISTRESS, SKIN, words_of

SKIN_SIGNS: Final = frozenset({"maculopapular_rash", "urticaria", "pruritus", "flushing", SKIN})
SWELLINGS: Final = frozenset(
    {
        "angioedema",
        "lip_tongue_uvula_oedema",
        "periorbital_oedema",
        "conjunctival_oedema",
    }
)
LISTED: Final = SKIN_SIGNS | SWELLINGS | {DISTRESS, "hypotension"}
NOT_ALONE: Final = frozenset({"flushing", DISTRESS, "hypotension"})
AT_LEAST: Final = 2
DEFINITE_HOURS: Final = 2
NONE: Final = "no sign of it is charted"


def _cdc(charted: Charted) -> Finding:
    signs = charted.signs & LISTED
    if len(signs) >= AT_LEAST:
        return met(f"{words_of(signs)}; {_imputable(charted)}", "definitive")
    if signs == {SKIN}:
        return cannot_say(
            "rash, itch or flushing: it is not charted which, and flushing is not enough"
        )
    if signs and not signs & NOT_ALONE:
        return met(f"{words_of(signs)}; {_imputable(charted)}", "probable")
    return not_met(f"{words_of(signs)} alone" if signs else NONE)


def _imputable(charted: Charted) -> str:
    """Whether the time allows the highest imputability; that nothing else explains it is open."""
    allows = "allows" if charted.hours_after_end <= DEFINITE_HOURS else "excludes"
    return f"the time {allows} a definite link (onset within 2 h of the end)"


def _uk(charted: Charted) -> Finding:
    skin, swelling = charted.signs & SKIN_SIGNS, charted.signs & SWELLINGS
    beyond = swelling | (charted.signs & {DISTRESS} if skin or swelling else frozenset())
    if beyond:
        said = f"{words_of(skin | beyond)}; severe if airway, breathing or circulation failed"
        return met(said, "moderate")
    return met(words_of(skin), "mild") if skin else not_met(NONE)


def _au(charted: Charted) -> Finding:
    signs = charted.signs & (SKIN_SIGNS | SWELLINGS)
    return met(words_of(signs)) if signs else not_met(NONE)


ALLERGIC: Final = (
    Definition(
        "cdc_allergic",
        "CDC NHSN, United States",
        Reaction.ALLERGIC,
        4,
        "NHSN Hemovigilance Module Surveillance Protocol v1.3.1, app. A: definitive two or more of"
        " ten signs, probable one sign of skin or mucosa, up to 4 h after the end",
        _cdc,
        ("probable", "definitive"),
    ),
    Definition(
        "uk_allergic",
        "BSH and SHOT, United Kingdom",
        Reaction.ALLERGIC,
        24,
        "BSH, Acute Transfusion Reactions, 2012: mild rash, itch or flushing; moderate with wheeze"
        " or swelling (in part from memory); up to 24 h (SHOT)",
        _uk,
        ("mild", "moderate"),
    ),
    Definition(
        "au_allergic",
        "National haemovigilance 2015, Australia",
        Reaction.ALLERGIC,
        24,
        "National Blood Authority, Australian haemovigilance, 2015, app. II: up to 24 h",
        _au,
    ),
)
