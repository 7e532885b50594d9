"""How people sign in on a device that many share: badges, PINs, failed tries, what they left."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import Row, table_of


class BadgeRow(Row, table=True):
    """The badge of a member of staff; `hash` is keyed, so that the table gives no badge away."""

    __tablename__ = "badge"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    hash: str = Field(unique=True)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str


class PinRow(Row, table=True):
    """What the PIN of a member of staff is checked against."""

    __tablename__ = "pin"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    hash: str
    set_at: datetime = Field(sa_type=UtcDateTime)


class SignInTryRow(Row, table=True):
    """How often a sign-in has failed: of an account, or of an account on one device."""

    __tablename__ = "sign_in_try"
    subject: str = Field(primary_key=True)
    failed: int
    last_at: datetime = Field(sa_type=UtcDateTime, index=True)


class KnownDeviceRow(Row, table=True):
    """A device on which a member of staff has signed in before."""

    __tablename__ = "known_device"
    device_hash: str = Field(primary_key=True)
    staff_id: str = Field(primary_key=True, foreign_key="staff.id", index=True)
    last_at: datetime = Field(sa_type=UtcDateTime, index=True)


class UnsentRow(Row, table=True):
    """What somebody had typed on a page and not stored when they left it. Not a fact."""

    __tablename__ = "unsent"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    path: str = Field(primary_key=True)
    forms: Any = Field(sa_column=Column(JsonText, nullable=False))
    kept_at: datetime = Field(sa_type=UtcDateTime, index=True)


BADGE: Final = table_of(BadgeRow)
PIN: Final = table_of(PinRow)
SIGN_IN_TRY: Final = table_of(SignInTryRow)
KNOWN_DEVICE: Final = table_of(KnownDeviceRow)
UNSENT: Final = table_of(UnsentRow)
