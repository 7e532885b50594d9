"""What a scanner sent."""

from typing import Annotated

from pydantic import StringConstraints

from server.api.fields import Ref, Strict
from server.domain import limits

Scanned = Annotated[str, StringConstraints(min_length=1, max_length=limits.SCAN)]
"""One read; the characters between labels are part of it."""


class LabelBody(Strict):
    """A scan, and the ward whose clocks its times are of."""

    scan: Scanned
    ward_id: Ref | None = None
