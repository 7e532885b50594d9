"""Wards, and which policy version each of them ran under from when."""

from datetime import datetime
from typing import Final

from sqlalchemy import Text
from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import LONG, Row, table_of


class WardRow(Row, table=True):
    """A ward. `revision` counts the commits that changed anything on its board."""

    __tablename__ = "ward"
    id: str = Field(primary_key=True)
    name: str
    timezone: str
    temperature_unit: str
    next_contact: str | None
    revision: int = Field(sa_type=LONG)
    checked_at: datetime | None = Field(sa_type=UtcDateTime)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    plan_id: str | None


class PolicyVersionRow(Row, table=True):
    """The full text of a policy, under the version that its content gives it."""

    __tablename__ = "policy_version"
    version: str = Field(primary_key=True)
    name: str
    text: str = Field(sa_type=Text)


class WardPolicyRow(Row, table=True):
    """From `from_at` on a ward runs under a policy version."""

    __tablename__ = "ward_policy"
    ward_id: str = Field(primary_key=True, foreign_key="ward.id")
    from_at: datetime = Field(primary_key=True, sa_type=UtcDateTime)
    policy_version: str = Field(foreign_key="policy_version.version")


WARD: Final = table_of(WardRow)
POLICY_VERSION: Final = table_of(PolicyVersionRow)
WARD_POLICY: Final = table_of(WardPolicyRow)
