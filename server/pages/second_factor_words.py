"""How a second factor stands, in words."""

from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.wording import dated_time
from server.services.one_time_codes import RECOVERY_CODES
from server.services.second_factor import FactorRead


def factor_words(read: FactorRead, zone: ZoneInfo, now: datetime) -> str:
    """Answer how somebody's second factor stands, `Set 10:00; 7 of 8 recovery codes are left.`."""
    if read.set_at is None:
        return "None is set: the password alone signs in."
    left = f"{read.codes_left} of {RECOVERY_CODES} recovery codes are left."
    return f"Set {dated_time(read.set_at, zone, now)}; {left}"
