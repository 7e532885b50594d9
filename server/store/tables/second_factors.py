"""Second factors of whoever signs in by password, and sign-ins that wait for one."""

from datetime import datetime
from typing import Final

from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import Row, table_of


class SecondFactorRow(Row, table=True):
    """What makes somebody's codes, sealed. `last_step` is the step of the last code used."""

    __tablename__ = "second_factor"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    sealed: str
    set_at: datetime = Field(sa_type=UtcDateTime)
    last_step: int


class BegunFactorRow(Row, table=True):
    """What is to make somebody's codes once a first one was shown, sealed."""

    __tablename__ = "second_factor_begun"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    sealed: str
    begun_at: datetime = Field(sa_type=UtcDateTime)


class RecoveryCodeRow(Row, table=True):
    """A code that lets somebody in once without their device, by its hash."""

    __tablename__ = "recovery_code"
    hash: str = Field(primary_key=True)
    staff_id: str = Field(foreign_key="staff.id", index=True)
    used_at: datetime | None = Field(sa_type=UtcDateTime)


class HalfSignInRow(Row, table=True):
    """A sign-in that lacks only its code. `sealed` is the provider's word, empty if by password."""

    __tablename__ = "half_sign_in"
    hash: str = Field(primary_key=True)
    staff_id: str = Field(foreign_key="staff.id", index=True)
    sealed: str
    begun_at: datetime = Field(sa_type=UtcDateTime, index=True)


SECOND_FACTOR: Final = table_of(SecondFactorRow)
SECOND_FACTOR_BEGUN: Final = table_of(BegunFactorRow)
RECOVERY_CODE: Final = table_of(RecoveryCodeRow)
HALF_SIGN_IN: Final = table_of(HalfSignInRow)
