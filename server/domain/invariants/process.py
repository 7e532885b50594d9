"""A process of the board as it says itself how it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

FRESH: Final = 6
"""A process that was not seen for so many times the patience with a tick is gone."""


@dataclass(frozen=True, slots=True)
class JobRun:
    """The last run of a job here: when it began, how long it took, and since when it fails."""

    name: str
    began_at: datetime
    milliseconds: int
    failing_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Process:
    """`name` is host and number. `leads`: it runs the jobs, `may_lead`: it would if no other did.

    `clock_ahead` is by how many seconds its clock is before the database's, None beside a file,
    where they are one. `key` tells one key file from another, empty where it cannot be read.
    `free` are the bytes that are free, by folder.
    """

    id: str
    name: str
    version: str
    started_at: datetime
    seen_at: datetime
    may_lead: bool = False
    leads: bool = False
    clock_ahead: float | None = None
    key: str = ""
    free: Mapping[str, int] | None = None
    jobs: tuple[JobRun, ...] = ()
