"""The board and what is due on it, as answered."""

from datetime import datetime

from server.api.answers.asking import PatientName, patient_name
from server.api.answers.infusion import InfusionAnswer, infusion_answer
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.clock import Clock
from server.domain.picture import Picture
from server.domain.words import ClockName, ClockState, Component, Level, Phase
from server.services.list_due import DueItem
from server.services.read_board import Board, BoardRow


class NextAnswer(Given):
    """What is owed next."""

    clock: ClockName
    n: int
    due_at: Moment | None
    limit_at: Moment | None


class RowAnswer(Given):
    """One unit on the board; `overridden`: it was started against a refusal, with a reason."""

    episode_id: str
    bed: str
    patient: PatientName
    component: Component
    phase: Phase
    level: Level
    since_at: Moment | None
    reason: str
    next: NextAnswer | None
    start_limit_at: Moment | None
    finish_limit_at: Moment | None
    infusion: InfusionAnswer
    nurse_id: str | None
    nurse_name: str | None
    overridden: bool
    revision: int


class SpoiltAnswer(Given):
    """A unit whose facts cannot be read."""

    episode_id: str
    bed: str


class BoardAnswer(Given):
    """A ward's units in order of urgency; `checked_at` is the last tick's instant.

    `spoilt` are units that cannot be worked out: nothing is said of them, and nobody is reminded.
    """

    at: Moment
    ward_id: str
    revision: int
    checked_at: Moment | None
    counts: dict[Level, int]
    rows: list[RowAnswer]
    spoilt: list[SpoiltAnswer]


class DueAnswer(Given):
    """A clock that is owed."""

    episode_id: str
    bed: str
    clock: ClockName
    n: int
    due_at: Moment | None
    limit_at: Moment | None
    state: ClockState
    nurse_id: str | None
    acknowledged_by: str | None


def board_answer(board: Board) -> BoardAnswer:
    """The board."""
    return BoardAnswer(
        at=board.at,
        ward_id=board.ward.id,
        revision=board.revision,
        checked_at=board.checked_at,
        counts=dict(board.counts),
        rows=[_row(row) for row in board.rows],
        spoilt=[SpoiltAnswer(episode_id=one.id, bed=one.bed) for one in board.spoilt],
    )


def due_answer(item: DueItem) -> DueAnswer:
    """A clock that is owed."""
    request, clock = item.picture.case.request, item.clock
    return DueAnswer(
        episode_id=request.id,
        bed=request.bed,
        clock=clock.name,
        n=clock.n,
        due_at=clock.due_at,
        limit_at=clock.limit_at,
        state=item.state,
        nurse_id=item.picture.episode.nurse_id,
        acknowledged_by=item.acknowledged_by,
    )


def _row(row: BoardRow) -> RowAnswer:
    looked = row.picture
    request = looked.case.request
    return RowAnswer(
        episode_id=request.id,
        bed=request.bed,
        patient=patient_name(looked.case.patient),
        component=request.component,
        phase=looked.episode.phase,
        level=looked.urgency.level,
        since_at=looked.urgency.since_at,
        reason=looked.urgency.reason,
        next=_next(looked.next_clock),
        start_limit_at=_limit(looked, ClockName.START),
        finish_limit_at=looked.standing.finish_limit_at,
        infusion=infusion_answer(looked.infusion),
        nurse_id=looked.episode.nurse_id,
        nurse_name=row.nurse_name,
        overridden=looked.episode.override_reason is not None,
        revision=looked.episode.revision,
    )


def _next(clock: Clock | None) -> NextAnswer | None:
    if clock is None:
        return None
    return NextAnswer(clock=clock.name, n=clock.n, due_at=clock.due_at, limit_at=clock.limit_at)


def _limit(looked: Picture, name: ClockName) -> datetime | None:
    return next((clock.limit_at for clock, _ in looked.clocks if clock.name is name), None)
