"""Policy versions: their text, and which one each ward ran under at an instant."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import insert, select

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, upsert, values_of
from server.store.tables import POLICY_VERSION, WARD_POLICY


@dataclass(frozen=True, slots=True)
class PolicyText:
    """The text of a policy file; `version` is worked out from the text."""

    version: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class InForce:
    """From `from_at` on a ward runs under a policy version."""

    from_at: datetime
    version: str


_PERIODS: Final = (
    select(WARD_POLICY).where(one_of(WARD_POLICY.c.ward_id)).order_by(WARD_POLICY.c.from_at)
)
_TEXTS: Final = select(*columns_for(POLICY_VERSION, PolicyText)).where(
    one_of(POLICY_VERSION.c.version)
)


def keep_policy_text(session: WriteSession, policy: PolicyText) -> None:
    """Keep the text of a version for as long as anything was judged by it."""
    # Asked first: the database refuses even an insertion that would change nothing.
    if policy.version not in policy_texts(session, [policy.version]):
        session.run(insert(POLICY_VERSION), values_of(policy))


def put_policy_in_force(session: WriteSession, ward_id: str, in_force: InForce) -> None:
    """Have a ward run under a version from an instant on."""
    row = {
        "ward_id": ward_id,
        "from_at": in_force.from_at,
        "policy_version": in_force.version,
    }
    session.run(upsert(session.engine_name, WARD_POLICY.name), row)


def policies_of_wards(
    session: ReadSession, ward_ids: Iterable[str]
) -> dict[str, tuple[InForce, ...]]:
    """What each ward ran under, from the earliest on."""
    wanted = sorted(set(ward_ids))
    found: dict[str, list[InForce]] = {ward_id: [] for ward_id in wanted}
    for row in session.rows(_PERIODS, {IDS: wanted}):
        found[row.ward_id].append(InForce(row.from_at, row.policy_version))
    return {ward_id: tuple(periods) for ward_id, periods in found.items()}


def version_at(periods: Iterable[InForce], at: datetime) -> str | None:
    """The version in force at an instant; before the first of them, the first one."""
    ordered = sorted(periods, key=lambda period: period.from_at)
    begun = [period for period in ordered if period.from_at <= at]
    chosen = begun[-1:] or ordered[:1]
    return chosen[0].version if chosen else None


def policy_version_at(session: ReadSession, ward_id: str, at: datetime) -> str | None:
    """The version a ward ran under at an instant; None if it never ran under any."""
    return version_at(policies_of_wards(session, [ward_id])[ward_id], at)


def policy_texts(session: ReadSession, versions: Iterable[str]) -> dict[str, PolicyText]:
    """The texts of these versions, by version."""
    return {
        row.version: PolicyText(*row)
        for chunk in in_chunks(sorted(set(versions)))
        for row in session.rows(_TEXTS, {IDS: chunk})
    }
