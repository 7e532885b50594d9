"""What is charted at one instant, and what definitions answer to it."""

from typing import Any, Final

from server.domain.definition import Charted, Finding, Verdict
from server.domain.payloads import Observed
from server.domain.reaction_definitions import DEFINITIONS

BY_KEY: Final = {definition.key: definition for definition in DEFINITIONS}
MET, OPEN, NOT = Verdict.MET, Verdict.CANNOT_SAY, Verdict.NOT_MET


def given(
    before: dict[str, Any] | None = None, *, hours: float = 0, signs: str = "", **later: Any
) -> Charted:
    return Charted(
        baseline=before or {},
        later=Observed(**later) if later else None,
        hours_after_end=hours,
        age_years=50,
        signs=frozenset(signs.split()),
    )


def fever(now: float, before: float | None = None, **more: Any) -> Charted:
    baseline = None if before is None else {"temperature_c": before}
    return given(baseline, temperature_c=now, **more)


def look(key: str, charted: Charted) -> Finding | None:
    return BY_KEY[key].look(charted)


def answer(key: str, charted: Charted) -> tuple[Verdict, str]:
    found = look(key, charted)
    assert found is not None
    return found.verdict, found.grade
