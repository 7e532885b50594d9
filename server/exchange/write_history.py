"""History files, written: the inverse of reading them, safe to open in a spreadsheet."""

from collections.abc import Iterable, Iterator

from server.exchange.csv_lines import csv_line
from server.exchange.history_files import EPISODE_FIELDS, OBSERVATION_FIELDS
from server.services.history import HistoryEpisode, HistoryObservation


def write_episodes(episodes: Iterable[HistoryEpisode]) -> Iterator[str]:
    """The lines of `episodes.csv`, the header first."""
    yield ",".join(EPISODE_FIELDS)
    for episode in episodes:
        yield csv_line(getattr(episode, field) for field in EPISODE_FIELDS)


def write_observations(observations: Iterable[HistoryObservation]) -> Iterator[str]:
    """The lines of `observations.csv`, the header first."""
    yield ",".join(OBSERVATION_FIELDS)
    for observation in observations:
        yield csv_line(_value(observation, field) for field in OBSERVATION_FIELDS)


def _value(observation: HistoryObservation, field: str) -> object:
    own = field in HistoryObservation.__slots__
    return getattr(observation if own else observation.observed, field)
