"""The page of a plan, ready to be shown.

`plan/plan.html` is the page, `plan/body.html` its element `#plan` alone, for an answer in place.
"""

from dataclasses import dataclass

from server.domain.plan.proposal import Rule
from server.domain.workload.finding import Snag
from server.domain.workload.wording import findings_words, left_out_words
from server.pages.links import plan_href
from server.pages.plans.axis_view import AxisView, axis_view, window_of
from server.pages.plans.people_view import PeopleView, people_view
from server.pages.plans.unit_view import UnitRow, sentence, unit_rows
from server.pages.plans.version_view import (
    Listed,
    MendView,
    VersionView,
    difference_words,
    listed_versions,
    mend_view,
    version_view,
)
from server.pages.plans.worth_view import WorthView, worth_text, worth_view
from server.services.read_plan import PlanLook


@dataclass(frozen=True, slots=True)
class PlanView:
    """Everything on the page of a plan.

    `broken` is what no plan may break, `known` what is good to know, `snags` what does not work
    out with the work as a whole, `left_out` what could not be planned or projected.
    """

    ward_name: str
    href: str
    at_text: str
    version: VersionView | None
    mend: MendView | None
    axis: AxisView
    people: PeopleView
    units: tuple[UnitRow, ...]
    snags: tuple[str, ...]
    broken: tuple[str, ...]
    known: tuple[str, ...]
    left_out: tuple[str, ...]
    differences: tuple[str, ...]
    worth: WorthView
    worth_text: str
    accepted: tuple[Listed, ...]
    undecided: tuple[Listed, ...]


def plan_view(look: PlanLook, *, selected: str = "", at_text: str = "") -> PlanView:
    """Answer the page; `selected` is the unit whose form is open, `at_text` another instant."""
    ground, load = look.ground, look.workload.load
    window = window_of(load.period)
    version = version_view(look)
    return PlanView(
        ward_name=ground.ward.name,
        href=plan_href(ground.ward.id, version.id if version else ""),
        at_text=at_text,
        version=version,
        mend=mend_view(look),
        axis=axis_view(ground, window, load.slots),
        people=people_view(ground, look.workload, window),
        units=unit_rows(look, window, selected),
        snags=snags(look),
        broken=_findings(look, is_hard=True),
        known=_findings(look, is_hard=False),
        left_out=tuple(left_out_words(one) for one in ground.left_out),
        differences=tuple(difference_words(ground, one) for one in look.differences),
        worth=worth_view(look),
        worth_text=worth_text(look),
        accepted=listed_versions(look, look.earlier),
        undecided=listed_versions(look, look.undecided),
    )


def snags(look: PlanLook) -> tuple[str, ...]:
    """Answer what does not work out with the work of the ward, in order of time."""
    ground = look.ground
    return findings_words(look.workload.findings, ground.names, ground.zone)


def _findings(look: PlanLook, *, is_hard: bool) -> tuple[str, ...]:
    """What the starts break; a double booking that is told of the work is not told twice."""
    told = {
        (one.staff_ids, one.period.from_at)
        for one in look.workload.findings
        if one.snag is Snag.COLLISION
    }
    return tuple(
        sentence(one.words)
        for one in look.findings
        if one.is_hard == is_hard
        and not (one.rule is Rule.NURSES and (one.staff_ids, one.period.from_at) in told)
    )
