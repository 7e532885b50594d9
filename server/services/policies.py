"""Stored policy versions as policies; a text is read once, for it never changes."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from functools import cache
from typing import Final

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.policy import Policy, flatten, parse_policy
from server.policies import policy_text
from server.services.actor import SYSTEM, Actor
from server.services.audit import note
from server.services.errors import NotFound
from server.store import policies as stored
from server.store.sessions import ReadSession, WriteSession
from server.store.wards import list_wards

# A version is worked out from its text: the same in whatever database it was met.
_READ: Final[dict[str, Policy]] = {}


def policies_of_versions(session: ReadSession, versions: Iterable[str]) -> dict[str, Policy]:
    """Answer the policies of these versions, by version."""
    wanted = set(versions)
    unread = stored.policy_texts(session, wanted - _READ.keys())
    _READ.update({version: _as_stored(kept) for version, kept in unread.items()})
    return {version: _READ[version] for version in wanted if version in _READ}


def _as_stored(kept: stored.PolicyText) -> Policy:
    """Read a stored text; a key that is younger than the text has the shipped common value."""
    policy = parse_policy(kept.text, name=kept.name, lacking=_common().values)
    return replace(policy, version=kept.version)


@cache
def _common() -> Policy:
    return parse_policy(policy_text("common"), name="common")


def policy_in_force(session: ReadSession, ward_id: str, at: datetime) -> Policy | None:
    """Answer the policy a ward ran under at an instant."""
    version = stored.policy_version_at(session, ward_id, at)
    return None if version is None else policies_of_versions(session, [version])[version]


def policies_in_force(
    session: ReadSession, ward_ids: Iterable[str], at: datetime
) -> dict[str, Policy]:
    """Answer what several wards ran under at an instant, in two queries for any number.

    Raises `NotFound` for a ward that never ran under any.
    """
    periods = stored.policies_of_wards(session, ward_ids)
    versions = {ward_id: stored.version_at(own, at) or "" for ward_id, own in periods.items()}
    policies = policies_of_versions(session, versions.values())
    for ward_id in sorted(one for one, version in versions.items() if version not in policies):
        raise NotFound(f"the policy of the ward {ward_id}")
    return {ward_id: policies[version] for ward_id, version in versions.items()}


def put_in_force(
    session: WriteSession,
    ward_id: str,
    policy: Policy,
    *,
    by: Actor = SYSTEM,
    now: datetime,
) -> bool:
    """Have a ward run under `policy` from now on; False if it already does."""
    if stored.policy_version_at(session, ward_id, now) == policy.version:
        return False
    text = flatten(policy)
    stored.keep_policy_text(session, stored.PolicyText(policy.version, policy.name, text))
    stored.put_policy_in_force(session, ward_id, stored.InForce(now, policy.version))
    session.touch(ward_id)
    subject = Subject(SubjectKind.WARD, ward_id)
    detail = {"policy": policy.name, "version": policy.version}
    note(session, by, AuditAct.POLICY_IN_FORCE, subject, now=now, ward_id=ward_id, detail=detail)
    return True


def bring_up_to_date(
    session: WriteSession, policies: Mapping[str, Policy], *, now: datetime
) -> tuple[str, ...]:
    """After an upgrade: put the new version of a ward's policy in force from now on.

    Units that were issued before keep the version they were issued under. Answers the wards
    that changed. A ward whose policy file is gone stays with the version it has.
    """
    changed: list[str] = []
    for ward_id in [ward.id for ward in list_wards(session)]:
        present = policy_in_force(session, ward_id, now)
        newest = None if present is None else policies.get(present.name)
        if newest is not None and put_in_force(session, ward_id, newest, now=now):
            changed.append(ward_id)
    return tuple(changed)
