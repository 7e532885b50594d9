"""The record of one transfusion: everything on the paper, worked out from what is known of it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.wording import PHASE, day_text
from server.domain.words import Phase
from server.pages.episodes.history import HistoryRow
from server.pages.episodes.make_desk import speech_of
from server.pages.episodes.reaction_summary import UNKNOWN
from server.pages.links import episode_href, record_href
from server.pages.records.dated import DatedSpeech, begun_at
from server.pages.records.deviations import Deviations, deviations
from server.pages.records.facts import (
    Block,
    component_text,
    name_text,
    order_block,
    patient_block,
    unit_block,
    unit_number_text,
)
from server.pages.records.flow import FlowRow, flow_rows, given_block
from server.pages.records.reactions import ReactionRecord, reaction_records
from server.pages.records.signs import SignsView, signs_view
from server.pages.records.told import parted
from server.services.read_episode import EpisodeRead
from server.store.staff import Staff

FINAL: Final = frozenset({Phase.CLOSED, Phase.RETURNED, Phase.DISCARDED, Phase.CANCELLED})


@dataclass(frozen=True, slots=True)
class Made:
    """How the paper came about: by whom, when, and what of the past was asked for.

    `now` is when it was made. `at` and `known_at` are None where it shows all that is known.
    """

    by: str
    now: datetime
    at: datetime | None = None
    known_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class RecordView:
    """The paper. `identity` stands on every sheet of it; `state` is empty when it is closed.

    `replayed` says what was asked for where it is not all that is known now.
    """

    href: str
    now_href: str
    identity: tuple[tuple[str, str], ...]
    day: str
    state: str
    history: bool
    blocks: tuple[Block, ...]
    course: tuple[HistoryRow, ...]
    signs: SignsView
    flow: tuple[FlowRow, ...]
    reactions: tuple[ReactionRecord, ...]
    deviations: Deviations
    voided: tuple[HistoryRow, ...]
    late: int
    policy: str
    made: str
    replayed: str

    @property
    def amended(self) -> str:
        """How many entries were voided, and how many were recorded late."""
        voided = len(self.voided)
        said = f"{voided} voided: kept here, not counted." if voided else "Nothing was voided."
        late = f"{self.late} recorded late, marked." if self.late else "No late entry."
        return f"{said} {late}"


def record_view(read: EpisodeRead, staff: tuple[Staff, ...], made: Made) -> RecordView:
    """Answer the record of a unit as it was read."""
    picture, speech = read.picture, _dated(read, staff)
    told, request = parted(read, speech), read.picture.case.request
    return RecordView(
        href=episode_href(request.id),
        now_href=record_href(request.id),
        identity=_identity(read),
        day=speech.day_text,
        state=_state(read, speech),
        history=request.history,
        blocks=(
            patient_block(picture, read.ward.name, speech),
            unit_block(picture, speech),
            order_block(picture, speech),
            given_block(picture, speech),
        ),
        course=tuple(one.row for one in told.course),
        signs=signs_view(told.signs, read.assessments, picture, speech),
        flow=flow_rows(told.flow, picture),
        reactions=reaction_records(told.reaction, picture, speech),
        deviations=deviations(picture, speech),
        voided=tuple(one.row for one in told.voided),
        late=told.late,
        policy=f"{picture.case.policy.title}, version {picture.case.policy.version}",
        made=f"{speech.full_time(made.now)}, by {made.by}",
        replayed=_replayed(made, speech),
    )


def _dated(read: EpisodeRead, staff: tuple[Staff, ...]) -> DatedSpeech:
    plain = speech_of(read, staff)
    return DatedSpeech(
        zone=plain.zone,
        temperature_unit=plain.temperature_unit,
        names=plain.names,
        now=plain.now,
        begun=begun_at(read.picture),
    )


def _identity(read: EpisodeRead) -> tuple[tuple[str, str], ...]:
    """Who and which unit, for the head of each sheet, as (term, value)."""
    picture = read.picture
    born = picture.case.patient.birth_date
    return (
        ("Patient", name_text(picture)),
        ("Born", UNKNOWN if born is None else day_text(born)),
        ("Record number", picture.case.patient.record_number),
        ("Unit", f"{component_text(picture)}, {unit_number_text(picture)}"),
    )


def _state(read: EpisodeRead, speech: DatedSpeech) -> str:
    """Where the unit stood, for a paper that was printed before everything was in it."""
    phase, reaction = read.picture.episode.phase, read.picture.episode.reaction
    if phase in FINAL and reaction is None:
        return ""
    suspected = "" if reaction is None else ", a suspected reaction is open"
    return f"Not finished at {speech.time(read.at)}: {PHASE[phase].lower()}{suspected}."


def _replayed(made: Made, speech: DatedSpeech) -> str:
    said = (
        "" if made.at is None else f"as it stood at {speech.full_time(made.at)}",
        ""
        if made.known_at is None
        else f"with what was recorded by {speech.full_time(made.known_at)}",
    )
    return ", ".join(one for one in said if one)
