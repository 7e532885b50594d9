"""The record of a unit for the notes, and its parts in a few words."""

from typing import Any, Final

from server.pages.episodes.history import HistoryRow
from server.pages.records.record_view import Made, RecordView, record_view
from server.services.read_episode import EpisodeRead
from tests.pages.hospital import Hospital

NURSE: Final = "Nina Nurse"
NOBODY: Final = "not recorded"


def read_of(hospital: Hospital, episode_id: str = "e1", **asked: Any) -> EpisodeRead:
    """A unit as it is known on the ward's clock."""
    return hospital.charting.episode(hospital.clock.now, episode_id, **asked)


def seen(hospital: Hospital, episode_id: str = "e1", **asked: Any) -> RecordView:
    """The record of a unit, made by the charge nurse."""
    made = Made("Carl Charge, charge nurse", hospital.clock.now)
    return record_view(read_of(hospital, episode_id, **asked), (), made)


def facts(record: RecordView, title: str) -> dict[str, str]:
    """The facts of one block."""
    (block,) = [block for block in record.blocks if block.title == title]
    return {fact.term: fact.value for fact in block.facts}


def lines(rows: tuple[HistoryRow, ...]) -> list[str]:
    """Entries as one line each, without who."""
    return [f"{row.time} {row.word}{': ' if row.text else ''}{row.text}" for row in rows]
