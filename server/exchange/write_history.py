"""History files, written: the inverse of reading them, safe to open in a spreadsheet."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime

from server.domain.encoding import write_instant
from server.exchange.csv_fields import FORMULA_STARTS
from server.exchange.history_files import EPISODE_FIELDS, OBSERVATION_FIELDS
from server.services.history import HistoryEpisode, HistoryObservation


def write_episodes(episodes: Iterable[HistoryEpisode]) -> Iterator[str]:
    """The lines of `episodes.csv`, the header first."""
    yield ",".join(EPISODE_FIELDS)
    for episode in episodes:
        yield _line(getattr(episode, field) for field in EPISODE_FIELDS)


def write_observations(observations: Iterable[HistoryObservation]) -> Iterator[str]:
    """The lines of `observations.csv`, the header first."""
    yield ",".join(OBSERVATION_FIELDS)
    for observation in observations:
        yield _line(_value(observation, field) for field in OBSERVATION_FIELDS)


def _value(observation: HistoryObservation, field: str) -> object:
    own = field in HistoryObservation.__slots__
    return getattr(observation if own else observation.observed, field)


def _line(values: Iterable[object]) -> str:
    return ",".join(_field(value) for value in values)


def _field(value: object) -> str:
    """One field; a text that a spreadsheet would work out is kept from it by an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return write_instant(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return repr(value).removesuffix(".0")
    return _text(str(value))


def _text(text: str) -> str:
    guarded = f"'{text}" if text.startswith(FORMULA_STARTS) else text
    if guarded is not text or any(mark in guarded for mark in ',"\r\n'):
        doubled = guarded.replace('"', '""')
        return f'"{doubled}"'
    return guarded
