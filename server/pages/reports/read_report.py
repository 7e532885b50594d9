"""All that a report of a period tells, read in one session."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.breach_list import Passed, Wanted
from server.domain.policy import Policy
from server.domain.review.audits import Audit
from server.domain.review.days import Days
from server.pages.reviews.filters import usual_parts
from server.services.account_for_units import (
    Accounts,
    NamedAccount,
    account_for_units,
    list_missing,
)
from server.services.actor import Actor
from server.services.enter_ward import read_ward, read_ward_policy
from server.services.list_breaches import BreachRow, list_breaches
from server.services.passed_limits import Period, passed_limits
from server.services.review_ground import Asked
from server.services.review_period import Review, review_period
from server.store.sessions import ReadSession
from server.store.wards import Ward


@dataclass(frozen=True, slots=True)
class Report:
    """What a report is made from. `breaches` are all of the period, `still_open` their units."""

    ward: Ward
    policy: Policy
    days: Days
    review: Review
    breaches: Sequence[Passed]
    still_open: tuple[BreachRow, ...]
    accounts: Accounts
    missing: tuple[NamedAccount, ...]
    audits: tuple[Audit, ...]


def read_report(
    session: ReadSession, actor: Actor, ward_id: str, period: Period, days: Days, *, now: datetime
) -> Report:
    """Answer the report of at most a year. Raises `NotFound`, `Forbidden`, `Invalid`."""
    ward = read_ward(session, actor, ward_id)
    accounts = account_for_units(session, actor, ward_id, period, now=now)
    unexplained = Wanted(explained=False)
    return Report(
        ward=ward,
        policy=read_ward_policy(session, ward_id, now=now),
        days=days,
        review=review_period(session, actor, ward_id, Asked(days, usual_parts(days)), now=now),
        breaches=passed_limits(session, {ward_id: period}, now=now),
        still_open=list_breaches(session, actor, ward_id, period, now=now, wanted=unexplained),
        accounts=accounts,
        missing=list_missing(session, actor, ward_id, period, now=now),
        audits=session.site.audits,
    )
