"""Policies: every limit with its unit, where it comes from, and whether that was verified."""

from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.policy import Policy, PolicyValue
from server.domain.policy.keys import RECIPIENT
from server.pages.answers import PageRoute
from server.pages.policy_words import SECTION, item_words, recipient_words, words_of
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, list_page
from server.pages.visitors import See
from server.services.enter_ward import list_wards, read_ward_policy
from server.services.errors import NotFound
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "policies"


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
@shows_no_patient
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
        actions=(("Which unit suits which patient", "/compatibility"),),
    )
    return list_page(screen.head(setting), listed)


@router.get("/policies/{name}")
@shows_no_patient
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
        section = value.key.partition(".")[0]
        grouped.setdefault(section, []).append(value_view(value))
    return tuple(SectionView(SECTION[key], tuple(values)) for key, values in grouped.items())


def value_view(value: PolicyValue) -> ValueView:
    """Answer one value as the page says it."""
    words = words_of(value.key)
    return ValueView(
        value.key, words, _said(value), value.source, value.note, verified=value.verified
    )


def _said(value: PolicyValue) -> str:
    plain = value.value
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    if isinstance(plain, tuple):
        return "; ".join(item_words(one) for one in plain) or "nothing"
    if plain == "":
        return "nothing"
    if value.unit == RECIPIENT.unit:
        return recipient_words(plain)
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
