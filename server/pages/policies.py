"""Policies: every limit with its unit, where it comes from, and whether that was verified."""

from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.policy import Policy, PolicyValue
from server.domain.wording import COMPONENT
from server.domain.words import Component
from server.pages.answers import PageRoute
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, list_page
from server.pages.visitors import See
from server.services.enter_ward import list_wards, read_ward_policy
from server.services.errors import NotFound

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "policies"
SECTION: Final = {
    "pathway": "Pathway",
    "start": "Start",
    "sample": "Sample",
    "return": "Return to stock",
    "finish": "Finish",
    "baseline": "Baseline observations",
    "first": "First check",
    "running": "Running checks",
    "end": "End observations",
    "giving_set": "Giving set",
    "late_watch": "Late watch",
    "fate": "Fate of the bag",
    "rate": "Rate",
    "identity": "Identity check",
    "observations": "Observations",
    "charting": "Charting",
    "reminders": "Reminders",
    "night": "Night",
    "retention": "Keeping records",
}
WORDS: Final = {
    "pathway.steps": "steps that are asked for",
    "target_minutes": "target",
    "requires": "refused without",
    "valid_hours": "valid for",
    "to_end_of_day": "and then to the end of that ward day",
    "minutes": "within",
    "from": "counted from the earliest of",
    "respect_expiry": "the label’s expiry counts too",
    "limit_minutes": "limit",
    "due_minutes": "due after",
    "opens_minutes": "counts from",
    "every_minutes": "every",
    "early_minutes": "may be early by",
    "grace_minutes": "may be late by",
    "hours": "for",
    "new_before_platelets": "a new one before platelets after red cells",
    "first_minutes": "slow start lasts",
    "first_max_ml_h": "slow start, at most",
    "max_ml_h": "adult, at most",
    "overload_max_ml_h": "with a risk of overload, at most",
    "max_ml_kg_h": "child, at most",
    "child_cap_ml_h": "child, never above",
    "child_cap_for": "child’s cap holds for",
    "child_under_years": "a child is under",
    "drops_per_ml": "gravity set gives",
    "checkers": "checked by",
    "abandon_minutes": "left unfinished after",
    "band_prefix": "wristband numbers begin with",
    "required": "a full set has",
    "look_back_hours": "shown from before the unit",
    "late_minutes": "a late entry is later than",
    "notice_minutes": "notice before due",
    "repeat_minutes": "repeated every",
    "escalate_minutes": "to the charge nurse after",
    "second_escalate_minutes": "then to the next contact after",
    "repeat_hours": "repeated for at most",
    "night.from": "from",
    "until": "until",
    "years": "for",
}


@dataclass(frozen=True, slots=True)
class ValueView:
    """One value as the page says it. `key` is the key of the policy file."""

    key: str
    words: str
    value: str
    source: str
    note: str
    verified: bool


@dataclass(frozen=True, slots=True)
class SectionView:
    """The values of one thing."""

    title: str
    values: tuple[ValueView, ...]


@router.get("/policies")
def see_policies(request: Request, visitor: See) -> Response:
    """The policies that are known, and which ward runs under which."""
    screen = Screen(request, visitor, NAME)
    setting = screen.setting()
    policies: dict[str, Policy] = request.app.state.policies
    runs = _wards_by_policy(screen)
    listed = ListPage(
        title="Policies",
        caption="Local policy decides; the tool computes what it says",
        columns=("Policy", "What it is", "Unverified", "Wards"),
        rows=tuple(_row(one, runs.get(one.name, ())) for one in policies.values()),
        empty="No policy is known.",
    )
    return list_page(screen.head(setting), listed)


@router.get("/policies/{name}")
def see_policy(request: Request, visitor: See, name: str) -> Response:
    """Every value of one policy."""
    screen = Screen(request, visitor, NAME)
    setting = screen.setting()
    policies: dict[str, Policy] = request.app.state.policies
    if name not in policies:
        raise NotFound("the policy")
    policy = policies[name]
    return page(
        "policies/policy.html",
        head=screen.head(setting),
        policy=policy,
        sections=section_views(policy),
        unverified=_unverified(policy),
        wards=_wards_by_policy(screen).get(name, ()),
    )


def section_views(policy: Policy) -> tuple[SectionView, ...]:
    """Answer the values of a policy, section by section, in the order of the file."""
    grouped: dict[str, list[ValueView]] = {}
    for value in policy.values.values():
        section, _dot, rest = value.key.partition(".")
        grouped.setdefault(section, []).append(_value(value, rest))
    return tuple(SectionView(SECTION[key], tuple(values)) for key, values in grouped.items())


def _value(value: PolicyValue, rest: str) -> ValueView:
    name, _dot, component = rest.partition(".")
    words = WORDS.get(value.key) or WORDS[name]
    if component:
        words = f"{COMPONENT[Component(component)]}, {words}"
    return ValueView(value.key, words, _said(value), value.source, value.note, value.verified)


def _said(value: PolicyValue) -> str:
    plain = value.value
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    if isinstance(plain, tuple):
        return ", ".join(str(one).replace("_", " ") for one in plain) or "nothing"
    if plain == "":
        return "nothing"
    number = f"{plain:g}" if isinstance(plain, float) else str(plain)
    unit = {"minutes": "min", "hours": "h"}.get(value.unit, value.unit)
    return f"{number} {unit}".strip()


def _unverified(policy: Policy) -> int:
    return sum(not value.verified for value in policy.values.values())


def _wards_by_policy(screen: Screen) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    with screen.store.read() as session:
        for ward in list_wards(session, screen.visitor.actor):
            name = read_ward_policy(session, ward.id, now=screen.now).name
            found[name] = (*found.get(name, ()), ward.name)
    return found


def _row(policy: Policy, wards: tuple[str, ...]) -> Row:
    return Row(
        (
            Cell(policy.title, f"/policies/{policy.name}"),
            Cell(policy.description),
            Cell(f"{_unverified(policy)} of {len(policy.values)}"),
            Cell(", ".join(wards)),
        )
    )
