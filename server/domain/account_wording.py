"""What is missing of a unit, in plain words with the times of the ward."""

from datetime import datetime, tzinfo
from typing import Final

from server.domain.account import Account, Gap, UnitRecord
from server.domain.wording import stamp
from server.domain.words import Fate

FATE: Final = {
    Fate.TRANSFUSED: "Transfused",
    Fate.PART_TRANSFUSED: "Part transfused",
    Fate.RETURNED: "Returned",
    Fate.DISCARDED: "Discarded",
}
_LACKING: Final = {
    Gap.NO_NUMBER: "no unit number recorded",
    Gap.NO_PRODUCT: "no product code recorded",
    Gap.NO_ISSUE: "no issue recorded: counted from the start",
    Gap.NO_REMOVAL: "no removal time: counted from issue",
}


def gap_words(found: Account, zone: tzinfo) -> tuple[str, ...]:
    """Answer a phrase for each gap: `ended Wed 25 Nov 14:10, fate not recorded`."""
    return tuple(_LACKING.get(gap) or _open_end(found.unit, gap, zone) for gap in found.gaps)


def _open_end(unit: UnitRecord, gap: Gap, zone: tzinfo) -> str:
    if gap is Gap.NO_FATE:
        return f"ended {_at(unit.ended_at, zone)}, fate not recorded"
    if gap is Gap.NO_END:
        return f"started {_at(unit.started_at, zone)}, no end recorded"
    return f"issued {_at(unit.issued_at, zone)}, neither started nor returned"


def _at(instant: datetime | None, zone: tzinfo) -> str:
    assert instant is not None  # noqa: S101 - the gap says that it is there
    return stamp(instant, zone)
