"""Whether a unit suits its patient, as pages show it: word and mark, never colour alone."""

from collections.abc import Iterator
from dataclasses import dataclass
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
GROUP: Final = "group_"
STOPS: Final = "Stops the start"
STOPPED: Final = "Spoke against the start"
MARKS: Final = {"high": "!!!", "medium": "!!", "none": ""}


@dataclass(frozen=True, slots=True)
class RequirementView:
    """One special requirement: its words, and what is seen of it."""

    words: str
    state: str
    mark: str
    said: str
    stops: bool


@dataclass(frozen=True, slots=True)
class FindingView:
    """Something that speaks against the unit; `stops`: the start needs a recorded reason."""

    detail: str
    stops: bool


@dataclass(frozen=True, slots=True)
class CompatibilityView:
    """One unit beside its patient. `priority` and `mark` are those of tags; `word` the level's.

    `stops`: the groups alone stop the start, `against` says so in the tense of the unit. What
    requirements and groups say is not said again among the findings.
    """

    priority: str
    mark: str
    word: str
    stops: bool
    against: str
    groups: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]
    sources: tuple[str, ...]
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
        stops=any(one.stops and one.code.startswith(GROUP) for one in check.findings),
        against=STOPS if picture.episode.started_at is None else STOPPED,
        groups=_groups(picture),
        sentences=_sentences(check),
        sources=_sources(check),
        requirements=tuple(_requirement(one) for one in check.requirements),
        limits=tuple(_limits(picture, check)),
        findings=tuple(FindingView(one.detail, one.stops) for one in _rest(check)),
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
    return (("Patient", group_words(patient)), ("unit", said))


def _sentences(check: UnitCheck) -> tuple[str, ...]:
    """The notes of the verdict; its headline is shown as groups and level."""
    return (check.not_judged,) if check.verdict is None else check.verdict.words[1:]


def _sources(check: UnitCheck) -> tuple[str, ...]:
    """Where all of it comes from, each once."""
    stated = [] if check.verdict is None else check.verdict.source.split("; ")
    stated += [one.source for one in check.requirements]
    stated += [one.source for one in check.findings if not one.code.startswith(GROUP)]
    return tuple(dict.fromkeys(source for source in stated if source))


def _rest(check: UnitCheck) -> Iterator[Finding]:
    """The findings that nothing else on the part says."""
    for one in check.findings:
        if not one.code.startswith((GROUP, "requirement", "table_")):
            yield one


def _requirement(check: RequirementCheck) -> RequirementView:
    mark, word = STATES[check.state]
    said = word if check.state is State.UNVERIFIED else f"{word}: {check.detail}"
    stops = check.state is State.NOT_MET
    return RequirementView(check.words, check.state.value, mark, said, stops)


def _limits(picture: Picture, check: UnitCheck) -> Iterator[tuple[str, str]]:
    """What has not run out; what has is a finding."""
    zone, now = picture.standing.zone, picture.standing.now
    limits = (
        ("Unit expires", picture.episode.expires_at),
        ("Sample valid until", check.sample_valid_until),
    )
    for words, limit in limits:
        if limit is not None and check.at <= limit:
            yield words, dated_time(limit, zone, now)
