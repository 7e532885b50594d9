"""The number on a badge: coded by GS1 or ISBT 128, or plain as the site prints it."""

import re
from typing import Final

from server.domain.errors import Invalid
from server.domain.labels.people import ProviderNumber, RecordNumber, StaffNumber
from server.domain.labels.scans import read_scan

SHORTEST: Final = 5
NO_BADGE: Final = "is no badge; expected the code of a badge, or its number of 5 characters or more"
_PRINTED: Final = re.compile(r"\((8017)\)")


def badge_number(scan: str) -> str:
    """Answer the number of a badge, the same however the badge is read or typed.

    What is printed under a GS1 code, `(8017) …`, is the code. Raises `Invalid("badge", …)`.
    """
    try:
        read = read_scan(_PRINTED.sub(r"\1", scan).replace(" ", ""))
    except Invalid as refusal:
        raise Invalid("badge", refusal.message) from None
    gs1, isbt, plain = (read.find(kind) for kind in (ProviderNumber, StaffNumber, RecordNumber))
    if isinstance(gs1, ProviderNumber):
        return f"8017 {gs1.gsrn}"
    if isinstance(isbt, StaffNumber):
        return f"020 {isbt.facility} {isbt.number}"
    if isinstance(plain, RecordNumber) and len(plain.text) >= SHORTEST:
        return plain.text
    raise Invalid("badge", NO_BADGE)
