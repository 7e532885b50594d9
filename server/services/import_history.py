"""Import history: what each record means, stored whole or not at all.

A line becomes the facts it states: issued and removed where given, started, ended, and the fate
that the ending implies. Nothing is made up for what is missing: a unit without an issue owes no
limit that counts from one. Records never remind anybody and are never refused for a missing
check; what they lack shows as breaches.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from itertools import islice
from typing import Final, TypeVar

from server.domain.errors import Invalid
from server.domain.words import Role
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.history import (
    BadLine,
    HistoryEpisode,
    HistoryObservation,
    ImportReport,
    Remark,
)
from server.services.history_episodes import doubts_of, keep_episode, overlap_doubts
from server.services.history_observations import keep_observation
from server.services.permissions import Act, require
from server.services.refresh import refresh
from server.store.board import open_episode_ids
from server.store.patients import read_patient
from server.store.requests import read_requests, requests_of_patient
from server.store.sessions import WriteSession
from server.store.store import Store
from server.store.wards import read_ward

BATCH: Final = 200
EPISODES: Final = "episodes"
OBSERVATIONS: Final = "observations"

Line = TypeVar("Line")
Good = TypeVar("Good", HistoryEpisode, HistoryObservation)
Progress = Callable[[str, int], None]
Episodes = Iterable[HistoryEpisode | BadLine]
Observations = Iterable[HistoryObservation | BadLine]


def import_history(
    store: Store,
    actor: Actor,
    ward_id: str,
    episodes: Episodes,
    observations: Observations = (),
    *,
    now: datetime,
    progress: Progress = lambda _file, _lines: None,
) -> ImportReport:
    """Import records onto a ward and answer what became of every line.

    `progress` is told the file and the lines done. Lines that an earlier run stored are passed
    over, so that a broken import is finished by running it again. Raises `NotFound`, `Forbidden`.
    """
    _require_allowed(store, actor, ward_id)
    report = ImportReport()
    read: list[HistoryEpisode] = []
    for batch in _batches(episodes):
        good = _sorted_out(batch, EPISODES, report)
        read += good
        _keep_episodes(store, actor, ward_id, good, report, now)
        progress(EPISODES, batch[-1].line)
    report.doubtful += overlap_doubts(read)
    for lines in _batches(observations):
        _keep_observations(store, actor, _sorted_out(lines, OBSERVATIONS, report), report, now)
        progress(OBSERVATIONS, lines[-1].line)
    report.refused.sort(key=lambda remark: (remark.file, remark.line))
    return report


def _require_allowed(store: Store, actor: Actor, ward_id: str) -> None:
    if actor.role is not Role.INTERFACE:
        raise Forbidden("history is imported by a program, not by a person")
    require(actor, Act.CHART, ward_id)
    with store.read() as session:
        if read_ward(session, ward_id) is None:
            raise NotFound(f"the ward {ward_id}")


def _batches(lines: Iterable[Line]) -> Iterable[list[Line]]:
    rest = iter(lines)
    while batch := list(islice(rest, BATCH)):
        yield batch


def _sorted_out(lines: Iterable[Good | BadLine], file: str, report: ImportReport) -> list[Good]:
    """Note the lines that could not be read; answer the others."""
    good: list[Good] = []
    for line in lines:
        if isinstance(line, BadLine):
            report.refused.append(Remark(file, line.line, line.reason))
        else:
            good.append(line)
    return good


def _keep_episodes(
    store: Store,
    actor: Actor,
    ward_id: str,
    episodes: Sequence[HistoryEpisode],
    report: ImportReport,
    now: datetime,
) -> None:
    with store.write() as session:
        kept: list[HistoryEpisode] = []
        for episode in episodes:
            known = read_patient(session, episode.patient_id)
            try:
                if keep_episode(session, actor, ward_id, episode, now=now):
                    kept.append(episode)
                else:
                    report.already += 1
            except (Invalid, Conflict) as refusal:
                report.refused.append(Remark(EPISODES, episode.line, str(refusal)))
            else:
                report.doubtful += doubts_of(episode, ward_id, known)
        _work_out(session, kept, now)
        report.episodes += len(kept)


def _work_out(session: WriteSession, kept: list[HistoryEpisode], now: datetime) -> None:
    """Work out the new units, and those whose patient is known better now."""
    others = open_episode_ids(session, {episode.patient_id for episode in kept}, now)
    requests = read_requests(session, {*others, *(episode.episode_id for episode in kept)})
    for request in requests.values():
        session.touch(request.ward_id, [request.id])
    refresh(session, requests, now=now)


def _keep_observations(
    store: Store,
    actor: Actor,
    observations: Sequence[HistoryObservation],
    report: ImportReport,
    now: datetime,
) -> None:
    with store.write() as session:
        patients: set[str] = set()
        for observation in observations:
            try:
                if keep_observation(session, actor, observation, now=now):
                    report.observations += 1
                    patients.add(observation.patient_id)
                else:
                    report.already += 1
            except (Invalid, Conflict) as refusal:
                report.refused.append(Remark(OBSERVATIONS, observation.line, str(refusal)))
        refresh(session, _units_of(session, patients), now=now)


def _units_of(session: WriteSession, patients: Iterable[str]) -> list[str]:
    return [one.id for patient in sorted(patients) for one in requests_of_patient(session, patient)]
