"""Whether a unit suits its patient, as pages show it: word and mark, never colour alone."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.advices import Advice
from server.domain.compatibility import AUTHORITY, Verdict, group_words
from server.domain.picture import Picture
from server.domain.requirement_check import RequirementCheck, State
from server.domain.site import Match
from server.domain.unit_check import Finding, UnitCheck
from server.domain.wording import dated_time

LEVELS: Final = {
    Match.FIRST: ("none", "first choice"),
    Match.ACCEPTABLE: ("none", "acceptable"),
    Match.CONDITIONAL: ("medium", "under conditions"),
    Match.EMERGENCY_ONLY: ("medium", "emergency only"),
    Match.NOT_LISTED: ("high", "not in the table"),
    Match.NEVER: ("high", "never"),
}
STATES: Final = {
    State.MET: ("✓", "met"),
    State.NOT_MET: ("✕", "not met"),
    State.UNVERIFIED: ("?", "cannot be verified from the label"),
    State.NOT_NEEDED: ("–", "not needed"),
}
MARKS: Final = {"high": "!!!", "medium": "!!", "none": ""}


@dataclass(frozen=True, slots=True)
class RequirementView:
    """One special requirement: its words, what is seen of it, and where."""

    words: str
    state: str
    mark: str
    said: str
    source: str


@dataclass(frozen=True, slots=True)
class FindingView:
    """Something that speaks against the unit; `stops`: the start needs a recorded reason."""

    detail: str
    source: str
    stops: bool


@dataclass(frozen=True, slots=True)
class CompatibilityView:
    """One unit beside its patient. `priority` and `mark` are those of tags; `word` the level's."""

    priority: str
    mark: str
    word: str
    groups: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]
    source: str
    requirements: tuple[RequirementView, ...]
    limits: tuple[tuple[str, str], ...]
    findings: tuple[FindingView, ...]
    signed: str
    is_signed: bool
    authority: str = AUTHORITY


def compatibility_view(picture: Picture) -> CompatibilityView:
    """Answer what the table, the label and the order say of a unit."""
    check, site = picture.check, picture.case.site
    priority, word = _level(check.verdict)
    table = site.compatibility
    return CompatibilityView(
        priority=priority,
        mark=MARKS[priority],
        word=word,
        groups=_groups(picture),
        sentences=_sentences(check),
        source=check.verdict.source if check.verdict is not None else "",
        requirements=tuple(_requirement(one) for one in check.requirements),
        limits=tuple(_limits(picture, check)),
        findings=tuple(_finding(one) for one in check.findings if one.code != "table_unsigned"),
        signed=check.signed,
        is_signed=table is not None and table.is_signed,
    )


def advices_beside(picture: Picture) -> tuple[Advice, ...]:
    """Answer the advices without those that the unit's own part shows."""
    shown = {one.code for one in picture.check.findings}
    return tuple(one for one in picture.advices if one.code not in shown)


def _level(verdict: Verdict | None) -> tuple[str, str]:
    return ("none", "not judged") if verdict is None else LEVELS[verdict.level]


def _groups(picture: Picture) -> tuple[tuple[str, str], ...]:
    unit, patient = picture.episode.blood_group, picture.case.patient.blood_group
    said = "not recorded" if unit is None else group_words(unit)
    return (("Patient", group_words(patient)), ("Unit", said))


def _sentences(check: UnitCheck) -> tuple[str, ...]:
    """The notes of the verdict; its headline is shown as groups and level."""
    return (check.not_judged,) if check.verdict is None else check.verdict.words[1:]


def _requirement(check: RequirementCheck) -> RequirementView:
    mark, word = STATES[check.state]
    said = word if check.state in (State.UNVERIFIED, State.MET) else f"{word}: {check.detail}"
    return RequirementView(check.words, check.state.value, mark, said, check.source)


def _limits(picture: Picture, check: UnitCheck) -> Iterator[tuple[str, str]]:
    expiry, until = picture.episode.expires_at, check.sample_valid_until
    if expiry is not None:
        yield "Unit expires", _until(expiry, picture, check)
    if until is not None:
        yield "Sample valid until", _until(until, picture, check)


def _until(limit: datetime, picture: Picture, check: UnitCheck) -> str:
    words = dated_time(limit, picture.standing.zone, picture.standing.now)
    return f"{words}, passed" if check.at > limit else words


def _finding(finding: Finding) -> FindingView:
    return FindingView(finding.detail, finding.source, finding.stops)
