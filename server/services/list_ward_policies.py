"""Which policy each of several wards runs under."""

from collections.abc import Iterable
from datetime import datetime

from server.services.policies import policies_in_force
from server.store.sessions import ReadSession
from server.store.wards import Ward


def list_ward_policies(
    session: ReadSession, wards: Iterable[Ward], *, now: datetime
) -> dict[str, str]:
    """Answer the name of the policy in force, by ward id."""
    policies = policies_in_force(session, [ward.id for ward in wards], now)
    return {ward_id: policy.name for ward_id, policy in policies.items()}
