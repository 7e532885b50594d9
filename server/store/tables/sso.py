"""Signing in at a provider: whose account there is whose here, and what was begun and is open."""

from datetime import datetime
from typing import Final

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import Row, table_of


class SsoLinkRow(Row, table=True):
    """The account of a member of staff at a provider; `subject` NULL: nobody came with it yet."""

    __tablename__ = "sso_link"
    __table_args__ = (UniqueConstraint("issuer", "account"), UniqueConstraint("issuer", "subject"))
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    issuer: str
    account: str
    subject: str | None
    entered_at: datetime = Field(sa_type=UtcDateTime)
    entered_by: str
    linked_at: datetime | None = Field(sa_type=UtcDateTime)


class SsoBegunRow(Row, table=True):
    """A sign-in that was begun in one browser; with `staff_id`, to link that person's account.

    `known_device` NULL: nobody has signed in on that device yet.
    """

    __tablename__ = "sso_begun"
    state_hash: str = Field(primary_key=True)
    visit_hash: str = Field(index=True)
    known_device: str | None = Field(index=True)
    next_path: str
    staff_id: str | None = Field(foreign_key="staff.id", index=True)
    begun_at: datetime = Field(sa_type=UtcDateTime, index=True)


class SsoSessionRow(Row, table=True):
    """What the provider said of whoever opened a session, sealed, to sign them out there too."""

    __tablename__ = "sso_session"
    session_id: str = Field(primary_key=True, foreign_key="session.id", ondelete="CASCADE")
    id_token: str


SSO_LINK: Final = table_of(SsoLinkRow)
SSO_BEGUN: Final = table_of(SsoBegunRow)
SSO_SESSION: Final = table_of(SsoSessionRow)
