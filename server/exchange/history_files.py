"""History files: one line a unit that was given, one line a set of vital signs."""

import csv
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
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
MOST_LINES: Final = 50  # that one record may take: a reason with line breaks in it

Row = dict[str, str]
Kept = TypeVar("Kept")


def read_episodes(lines: Iterable[str]) -> Iterator[HistoryEpisode | BadLine]:
    """Read `episodes.csv`. Raises `Invalid` if the header lacks a required field."""
    return _read(lines, ("episode_id", "patient_id", "component", "started_at"), _episode)


def read_observations(lines: Iterable[str]) -> Iterator[HistoryObservation | BadLine]:
    """Read `observations.csv`. Raises `Invalid` if the header lacks a required field."""
    return _read(lines, ("patient_id", "happened_at"), _observation)


def _read(
    lines: Iterable[str], needed: tuple[str, ...], read: Callable[[int, Row], Kept]
) -> Iterator[Kept | BadLine]:
    """Read record by record; what is wrong with one costs that line and no other."""
    numbered = ((n, line) for n, line in enumerate(lines, 1) if line.strip(" \t\r\n\ufeff"))
    header = _header(next(numbered, (1, ""))[1], needed)
    ahead: deque[tuple[int, str]] = deque()
    while True:
        ahead.extend(islice(numbered, MOST_LINES - len(ahead)))
        if not ahead:
            return
        number = ahead[0][0]
        try:
            yield read(number, _next_row(header, ahead))
        except Invalid as refusal:
            yield BadLine(number, str(refusal))
        except csv.Error as refusal:
            yield BadLine(number, f"the line {refusal}")


def _header(line: str, needed: tuple[str, ...]) -> list[str]:
    names = [name.strip() for name in _split([line.removeprefix("\ufeff")]) or ()]
    for field in needed:
        if field not in names:
            raise Invalid(field, "is not in the header line; expected a column of that name")
    for name in names:
        if names.count(name) > 1:
            raise Invalid(name, "is in the header line twice; expected each column once")
    return names


def _next_row(header: list[str], ahead: deque[tuple[int, str]]) -> Row:
    """Take the next record off the lines ahead."""
    values = _next_values(ahead, len(header))
    if len(values) != len(header):
        amount = "more" if len(values) > len(header) else "fewer"
        raise csv.Error(f"has {amount} fields than the header line")
    return dict(zip(header, values, strict=True))


def _next_values(ahead: deque[tuple[int, str]], width: int) -> list[str]:
    """One line, or more where a quoted field goes on and the record comes out whole.

    A quote that is never closed must not swallow the rest of the file: it costs its own line.
    """
    lines = [line for _, line in ahead]
    ahead.popleft()
    values = _split(lines[:1])
    if values is not None:
        return values
    for more in range(1, len(lines)):
        values = _split(lines[: more + 1])
        if values is not None and len(values) == width:
            for _ in range(more):
                ahead.popleft()
            return values
    raise csv.Error("has a quote that is not closed")


def _split(lines: list[str]) -> list[str] | None:
    """The fields of one record, None if a quoted one goes on. Raises `csv.Error`."""
    try:
        return next(csv.reader(lines, strict=True), [])
    except csv.Error as error:
        if str(error) == "unexpected end of data":
            return None
        raise


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
