"""History files: one line a unit that was given, one line a set of vital signs."""

import csv
from collections.abc import Callable, Iterable, Iterator
from typing import Final, TypeVar

from server.domain.errors import Invalid
from server.domain.payloads import Observed
from server.domain.words import Component
from server.exchange.csv_fields import day_of, instant_of, number_of, required, text_of
from server.services.history import BadLine, HistoryEpisode, HistoryObservation

EPISODE_FIELDS: Final = (
    "episode_id",
    "patient_id",
    "birth_date",
    "weight_kg",
    "ward_id",
    "bed",
    "component",
    "volume_ml",
    "removed_at",
    "issued_at",
    "started_at",
    "rate_ml_h",
    "ended_at",
    "given_ml",
    "end_reason",
    "recorded_at",
)
OBSERVATION_FIELDS: Final = (
    "patient_id",
    "happened_at",
    "temperature_c",
    "pulse_per_min",
    "respirations_per_min",
    "systolic_mmhg",
    "diastolic_mmhg",
    "spo2_percent",
    "recorded_at",
)
_SIGNS: Final = OBSERVATION_FIELDS[2:-1]

Row = dict[str, str | None]
Kept = TypeVar("Kept")


def read_episodes(lines: Iterable[str]) -> Iterator[HistoryEpisode | BadLine]:
    """Read `episodes.csv`. Raises `Invalid` if the header lacks a required field."""
    for line, row in _rows(lines, ("episode_id", "patient_id", "component", "started_at")):
        yield _try(line, row, _episode)


def read_observations(lines: Iterable[str]) -> Iterator[HistoryObservation | BadLine]:
    """Read `observations.csv`. Raises `Invalid` if the header lacks a required field."""
    for line, row in _rows(lines, ("patient_id", "happened_at")):
        yield _try(line, row, _observation)


def _rows(lines: Iterable[str], needed: tuple[str, ...]) -> Iterator[tuple[int, Row]]:
    reader = csv.DictReader(line.removeprefix("\ufeff") for line in lines)
    missing = [field for field in needed if field not in (reader.fieldnames or ())]
    if missing:
        raise Invalid(missing[0], "is not in the header line; expected a column of that name")
    for row in reader:
        yield reader.line_num, row


def _try(line: int, row: Row, read: Callable[[int, Row], Kept]) -> Kept | BadLine:
    if None in row:
        return BadLine(line, "has more fields than the header line")
    try:
        return read(line, row)
    except Invalid as refusal:
        return BadLine(line, str(refusal))


def _episode(line: int, row: Row) -> HistoryEpisode:
    started_at = instant_of(row, "started_at")
    if started_at is None:
        raise Invalid("started_at", "is empty; expected an instant")
    return HistoryEpisode(
        line=line,
        episode_id=required(row, "episode_id"),
        patient_id=required(row, "patient_id"),
        birth_date=day_of(row, "birth_date"),
        weight_kg=number_of(row, "weight_kg"),
        ward_id=text_of(row, "ward_id"),
        bed=text_of(row, "bed") or "",
        component=_component(required(row, "component")),
        volume_ml=number_of(row, "volume_ml"),
        removed_at=instant_of(row, "removed_at"),
        issued_at=instant_of(row, "issued_at"),
        started_at=started_at,
        rate_ml_h=number_of(row, "rate_ml_h"),
        ended_at=instant_of(row, "ended_at"),
        given_ml=number_of(row, "given_ml"),
        end_reason=text_of(row, "end_reason"),
        recorded_at=instant_of(row, "recorded_at"),
    )


def _component(text: str) -> Component:
    try:
        return Component(text)
    except ValueError:
        message = f"is {text[:40]!r}; expected one of {', '.join(Component)}"
        raise Invalid("component", message) from None


def _observation(line: int, row: Row) -> HistoryObservation:
    happened_at = instant_of(row, "happened_at")
    if happened_at is None:
        raise Invalid("happened_at", "is empty; expected an instant")
    signs = {field: number_of(row, field) for field in _SIGNS}
    return HistoryObservation(
        line=line,
        patient_id=required(row, "patient_id"),
        happened_at=happened_at,
        observed=Observed(**signs),  # type: ignore[arg-type]  # all of them numbers or None
        recorded_at=instant_of(row, "recorded_at"),
    )
