"""Whether a unit suits its patient, as answered."""

from datetime import date

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.compatibility import AUTHORITY
from server.domain.picture import Picture
from server.domain.requirement_check import RequirementCheck, State
from server.domain.requirements import Requirement
from server.domain.site import Match
from server.domain.unit_check import Finding


class RequirementAnswer(Given):
    """A special requirement of the order; `requirement` null: a free text."""

    requirement: Requirement | None
    words: str
    state: State
    detail: str
    source: str | None


class FindingAnswer(Given):
    """Something that speaks against the unit; `stops`: a start needs a recorded reason."""

    code: str
    detail: str
    source: str | None
    stops: bool


class TableAnswer(Given):
    """The site's compatibility table; both null: no clinician has signed it."""

    version: str
    signed_by: str | None
    signed_on: date | None


class CompatibilityAnswer(Given):
    """What the table, the label and the order say of the unit; `level` null: not judged.

    `level` is the worse of `abo` and `rhd`; `rhd` is null where it is not matched.
    """

    at: Moment
    level: Match | None
    abo: Match | None
    rhd: Match | None
    words: list[str]
    source: str | None
    table: TableAnswer | None
    signed: str
    requirements: list[RequirementAnswer]
    attributes: list[str]
    sample_valid_until: Moment | None
    findings: list[FindingAnswer]
    authority: str


class OverrideAnswer(Given):
    """The unit was started against a refusal: the reason, and what it was given against."""

    reason: str
    against: list[str]


def compatibility_answer(looked: Picture) -> CompatibilityAnswer:
    """How the unit suits its patient."""
    check = looked.check
    verdict = check.verdict
    return CompatibilityAnswer(
        at=check.at,
        level=None if verdict is None else verdict.level,
        abo=None if verdict is None else verdict.abo,
        rhd=None if verdict is None else verdict.rhd,
        words=[check.not_judged] if verdict is None else list(verdict.words),
        source=None if verdict is None else verdict.source,
        table=_table(looked),
        signed=check.signed,
        requirements=[_requirement(one) for one in check.requirements],
        attributes=list(looked.episode.attributes),
        sample_valid_until=check.sample_valid_until,
        findings=[_finding(one) for one in check.findings],
        authority=AUTHORITY,
    )


def override_answer(looked: Picture) -> OverrideAnswer | None:
    """Why the unit was started against a refusal, null where it was not."""
    reason = looked.episode.override_reason
    return (
        None if reason is None else OverrideAnswer(reason=reason, against=list(looked.overridden))
    )


def _table(looked: Picture) -> TableAnswer | None:
    table = looked.case.site.compatibility
    if table is None:
        return None
    return TableAnswer(
        version=table.version, signed_by=table.signed_by or None, signed_on=table.signed_on
    )


def _requirement(check: RequirementCheck) -> RequirementAnswer:
    return RequirementAnswer(
        requirement=check.requirement,
        words=check.words,
        state=check.state,
        detail=check.detail,
        source=check.source or None,
    )


def _finding(finding: Finding) -> FindingAnswer:
    return FindingAnswer(
        code=finding.code,
        detail=finding.detail,
        source=finding.source or None,
        stops=finding.stops,
    )
