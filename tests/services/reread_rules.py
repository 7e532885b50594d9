"""The checks of a given unit read once more from the rules, straight from the files.

Written apart from the product and sharing no code with it. A unit of the history files has a start
and an end; a patient has sets of vital signs. Minutes are those of the common policy: baseline
within 60 before the start; first check from 10, due 15, limit 20 after it; running every 60, 15
early, 15 grace; end limit 60, late watch 24 h; a full set has temperature, pulse, respirations and
both pressures.
"""

import csv
from collections import defaultdict
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final, NamedTuple

NEEDED: Final = (
    "temperature_c",
    "pulse_per_min",
    "respirations_per_min",
    "systolic_mmhg",
    "diastolic_mmhg",
)


class Unit(NamedTuple):
    """What a row says: who, from when until when."""

    episode_id: str
    patient_id: str
    start: datetime
    end: datetime


class Verdict(NamedTuple):
    """What became of one check: its name and number, its limit, when it was met, and how."""

    clock: str
    n: int
    limit_at: datetime
    met_at: datetime | None
    state: str


def read_units(file: Path) -> list[Unit]:
    """The rows of `episodes.csv`."""
    with file.open(newline="") as lines:
        return [
            Unit(
                row["episode_id"],
                row["patient_id"],
                datetime.fromisoformat(row["started_at"]),
                datetime.fromisoformat(row["ended_at"]),
            )
            for row in csv.DictReader(lines)
        ]


def read_components(file: Path) -> dict[str, str]:
    """What each row of `episodes.csv` was a unit of."""
    with file.open(newline="") as lines:
        return {row["episode_id"]: row["component"] for row in csv.DictReader(lines)}


def read_full_sets(file: Path) -> dict[str, list[datetime]]:
    """When each patient had a full set, in order."""
    full = defaultdict(list)
    with file.open(newline="") as lines:
        for row in csv.DictReader(lines):
            if all(row[sign] for sign in NEEDED):
                full[row["patient_id"]].append(datetime.fromisoformat(row["happened_at"]))
    return {patient_id: sorted(instants) for patient_id, instants in full.items()}


def judge(unit: Unit, sets: list[datetime]) -> list[Verdict]:
    """Every observation check of a unit, long after all is over."""
    first = _first(unit, sets)
    return [_baseline(unit, sets), first, *_running(unit, sets, first), _end(unit, sets)]


def _baseline(unit: Unit, sets: list[datetime]) -> Verdict:
    """Observations inside [start - limit, start]; unmet at the start, a breach stamped there."""
    inside = [at for at in sets if unit.start - _minutes(60) <= at <= unit.start]
    if inside:
        return Verdict("baseline_check", 1, unit.start, inside[-1], "met")
    return Verdict("baseline_check", 1, unit.start, None, "missed")


def _first(unit: Unit, sets: list[datetime]) -> Verdict:
    """The first full set inside [opens, limit], also if the unit has ended meanwhile.

    A later one, up to the end of the unit: met late. None: missed. Ended before it opens: lapses.
    """
    opens, limit = unit.start + _minutes(10), unit.start + _minutes(20)
    if unit.end < opens:
        return Verdict("first_check", 1, limit, None, "lapsed")
    for at in sets:
        if opens <= at <= limit:
            return Verdict("first_check", 1, limit, at, "met")
        if limit < at <= unit.end:
            return Verdict("first_check", 1, limit, at, "met_late")
    return Verdict("first_check", 1, limit, None, "missed")


def _running(unit: Unit, sets: list[datetime], first: Verdict) -> list[Verdict]:
    """Each set restarts the interval; while no first set exists it runs from the first's due time.

    What is owed when the unit ends is missed if its limit has passed by then, else it lapses.
    """
    if first.state == "lapsed":
        return []
    last = first.met_at or unit.start + _minutes(15)
    found: list[Verdict] = []
    for at in [at for at in sets if last < at <= unit.end]:
        limit = last + _minutes(75)
        state = "met" if at <= limit else "met_late"
        found.append(Verdict("running_check", len(found) + 1, limit, at, state))
        last = at
    if last < unit.end:
        limit = last + _minutes(75)
        state = "missed" if limit < unit.end else "lapsed"
        found.append(Verdict("running_check", len(found) + 1, limit, None, state))
    return found


def _end(unit: Unit, sets: list[datetime]) -> Verdict:
    """The first full set inside [ended, limit]; a later one inside the late watch: met late."""
    limit = unit.end + _minutes(60)
    for at in sets:
        if unit.end <= at <= limit:
            return Verdict("end_check", 1, limit, at, "met")
        if limit < at <= unit.end + timedelta(hours=24):
            return Verdict("end_check", 1, limit, at, "met_late")
    return Verdict("end_check", 1, limit, None, "missed")


def _minutes(number: int) -> timedelta:
    return timedelta(minutes=number)
