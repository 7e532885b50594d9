"""Which policy each of several wards runs under."""

from collections.abc import Iterable
from datetime import datetime

from server.services.policies import policies_of_versions
from server.store.policies import policies_of_wards, version_at
from server.store.sessions import ReadSession
from server.store.wards import Ward


def list_ward_policies(
    session: ReadSession, wards: Iterable[Ward], *, now: datetime
) -> dict[str, str]:
    """Answer the name of the policy in force, by ward id, in two queries for any number."""
    periods = policies_of_wards(session, [ward.id for ward in wards])
    versions = {ward_id: version_at(own, now) or "" for ward_id, own in periods.items()}
    policies = policies_of_versions(session, versions.values())
    return {ward_id: policies[version].name for ward_id, version in versions.items()}
