"""What the table, the label and the order together say of one unit for one patient.

A finding warns, or stops the start unless somebody gives a reason that is kept. Nothing here ever
says that a unit may be given: the laboratory's issue decision is the authority.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Final

from server.domain.attributes import STOPS, WARNS, Attribute
from server.domain.compatibility import Recipient, Verdict, judge
from server.domain.episode import Episode
from server.domain.labels import split_product
from server.domain.policy import Policy, source_of
from server.domain.request import Patient
from server.domain.requirement_check import (
    LABEL,
    PRODUCTS,
    RequirementCheck,
    State,
    check_requirements,
)
from server.domain.sample import sample_valid_until
from server.domain.site import Coded, CompatibilityTable, Match, Site
from server.domain.wording import COMPONENT, dated_time, day_text

NO_TABLE: Final = "No compatibility table is loaded."
NOT_ISSUED: Final = "Nothing is judged before the unit is issued."
NO_GROUP: Final = "The group of the unit was not recorded, so nothing was judged."
UNSIGNED: Final = "No clinician has signed the compatibility table of this site."


@dataclass(frozen=True, slots=True)
class Around:
    """What surrounds the facts of a unit: its patient, its site's files, its ward's time zone."""

    patient: Patient
    site: Site
    zone: tzinfo


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that speaks against the unit. `words` stand inside a sentence, `detail` alone.

    `stops`: the start is refused without a recorded reason.
    """

    code: str
    words: str
    detail: str
    source: str
    stops: bool


@dataclass(frozen=True, slots=True)
class UnitCheck:
    """One unit checked for its patient at one instant; `not_judged` says why without verdict.

    `signed` says who answers for the table, or that nobody does.
    """

    at: datetime
    verdict: Verdict | None
    not_judged: str
    signed: str
    requirements: tuple[RequirementCheck, ...]
    sample_valid_until: datetime | None
    findings: tuple[Finding, ...]


def check_unit(episode: Episode, policy: Policy, around: Around, at: datetime) -> UnitCheck:
    """Check a unit for its patient at an instant: at its start, or now while it is not started."""
    issued = episode.issued_at is not None
    verdict, not_judged = _verdict(episode, around, at)
    listed = _requirements(episode, around) if issued else ()
    until = sample_valid_until(episode.request, policy, around.zone)
    found = [
        *(_group(verdict, around) if verdict is not None else ()),
        *(_bag(episode, around, at) if issued else ()),
        *_of_requirements(listed),
        *_sample(until, policy, around, at),
    ]
    return UnitCheck(
        at, verdict, not_judged, signed_words(around.site), listed, until, tuple(found)
    )


def signed_words(site: Site) -> str:
    """Who answers for the table of a site, or that nobody does."""
    table = site.compatibility
    if table is None:
        return NO_TABLE
    if table.signed_on is None:
        return UNSIGNED
    return f"Signed off by {table.signed_by} on {day_text(table.signed_on)}."


def _verdict(episode: Episode, around: Around, at: datetime) -> tuple[Verdict | None, str]:
    table = around.site.compatibility
    if table is None:
        return None, NO_TABLE
    if episode.issued_at is None:
        return None, NOT_ISSUED
    if episode.blood_group is None:
        return None, NO_GROUP
    product, patient = _product(episode, around.site), around.patient
    named = None if product is None else product.component
    recipient = Recipient(
        group=patient.blood_group,
        age_years=patient.age_years(at.astimezone(around.zone).date()),
        pregnant=patient.pregnant,
    )
    component = named or episode.request.component
    return judge(component, episode.blood_group, recipient, table), ""


def _product(episode: Episode, site: Site) -> Coded | None:
    """What the site's table says of the product."""
    code, _ = split_product(episode.product_code or "")
    return site.products.get(code)


def _group(verdict: Verdict, around: Around) -> Iterator[Finding]:
    table = around.site.compatibility
    stops = table is not None and verdict.level in _stopping(table, around.patient)
    if stops or verdict.level not in (Match.FIRST, Match.ACCEPTABLE):
        headline = verdict.words[0].rstrip(".")
        detail = " ".join(verdict.words)
        yield Finding(f"group_{verdict.level}", headline, detail, verdict.source, stops)
    if verdict.anti_d:
        detail = (
            "RhD positive cells for a patient whom anti-D may harm: tell the laboratory and the "
            "prescriber."
        )
        yield Finding("anti_d", detail.rstrip("."), detail, verdict.source, stops=False)
    if table is not None and not table.is_signed:
        yield Finding("table_unsigned", UNSIGNED.rstrip("."), UNSIGNED, "", stops=False)


def _stopping(table: CompatibilityTable, patient: Patient) -> frozenset[Match]:
    return table.unknown_needs_reason if patient.blood_group is None else table.needs_reason


def _bag(episode: Episode, around: Around, at: datetime) -> Iterator[Finding]:
    expiry, product = episode.expires_at, _product(episode, around.site)
    if expiry is not None and at > expiry:
        words = f"the unit expired at {dated_time(expiry, around.zone, at)}"
        yield _found("unit_expired", words, LABEL)
    for name in map(Attribute, episode.attributes):
        if name in STOPS:
            yield _found(f"label_{name}", STOPS[name], LABEL)
        if name in WARNS:
            yield _found(f"label_{name}", WARNS[name], LABEL, stops=False)
    ordered = episode.request.component
    if product is not None and product.component not in (None, ordered):
        named = COMPONENT[product.component or ordered].lower()
        words = f"product {product.code} is {named} and {COMPONENT[ordered].lower()} was ordered"
        yield _found("component_differs", words, PRODUCTS)


def _found(code: str, words: str, source: str, *, stops: bool = True) -> Finding:
    return Finding(code, words, f"{words[0].upper()}{words[1:]}.", source, stops)


def _requirements(episode: Episode, around: Around) -> tuple[RequirementCheck, ...]:
    return check_requirements(
        episode.request.requirements,
        component=episode.request.component,
        shown=episode.attributes,
        product=_product(episode, around.site),
        table=around.site.compatibility,
    )


def _of_requirements(listed: tuple[RequirementCheck, ...]) -> Iterator[Finding]:
    for one in listed:
        if one.state is State.NOT_MET:
            words = f"{one.words} was ordered and {one.detail}"
            yield Finding("requirement_not_met", words, f"{words}.", one.source, stops=True)
    open_ones = [one.words for one in listed if one.state is State.UNVERIFIED]
    if open_ones:
        words = f"cannot be verified from the label: {', '.join(open_ones)}"
        detail = f"Cannot be verified from the label: {', '.join(open_ones)}. Ask the laboratory."
        yield Finding("requirements_unverified", words, detail, "", stops=False)


def _sample(
    until: datetime | None, policy: Policy, around: Around, at: datetime
) -> Iterator[Finding]:
    if until is not None and at > until:
        when = dated_time(until, around.zone, at)
        words = f"the sample was valid until {when}"
        detail = f"The sample was valid until {when}: ask the laboratory whether it takes another."
        source = source_of(policy, "sample.valid_hours")
        yield Finding("sample_expired", words, detail, source, stops=False)
