"""Everything on the page of one unit, drawn from what is known of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.advices import Advice
from server.domain.events import Event, sorted_live
from server.domain.picture import Picture
from server.domain.policy import source_of
from server.domain.wording import CLOCK, span, wall_time
from server.domain.words import Kind
from server.pages.compatibility_view import CompatibilityView, advices_beside, compatibility_view
from server.pages.episodes.clock_rows import ClockRow, owed_clocks, settled_clocks
from server.pages.episodes.desk import Desk, FormView, Sent
from server.pages.episodes.facts import patient_facts, unit_facts
from server.pages.episodes.history import HistoryRow, history_rows
from server.pages.episodes.make_desk import make_desk, speech_of
from server.pages.episodes.reaction_view import ReactionView, reaction_view
from server.pages.episodes.saved import SavedView, saved_views
from server.pages.episodes.sentences import Speech
from server.pages.episodes.step_views import StepView, Walk, step_views
from server.pages.links import episode_href
from server.pages.observations.section import ObservationsView, observations_view
from server.pages.page_head import iso
from server.pages.row_view import RowView, row_view
from server.pages.time_window import STEP, Tick, Window, axis, window_at
from server.pages.visitors import Visitor
from server.services.read_episode import EpisodeRead
from server.store.staff import Staff

BEFORE: Final = timedelta(minutes=15)
AFTER: Final = timedelta(minutes=25)
RECORD: Final = (Kind.ASSIGNED, Kind.ACKNOWLEDGED, Kind.NOTE, Kind.CAUSE_GIVEN)


@dataclass(frozen=True, slots=True)
class WindowView:
    """The stretch of time that the line is drawn on, named as the board names its own."""

    from_iso: str
    to_iso: str
    ticks: tuple[Tick, ...]
    now_x: float
    now_text: str


@dataclass(frozen=True, slots=True)
class BreachView:
    """A limit that was not kept, and its cause where somebody gave one."""

    words: str
    limit_text: str
    late: str
    cause: str


@dataclass(frozen=True, slots=True)
class AdviceView:
    """One advice with the source of its rule, empty for a plain fact."""

    detail: str
    source: str


@dataclass(frozen=True, slots=True)
class EpisodeView:
    """The page of one unit."""

    row: RowView
    window: WindowView
    revision: int
    patient: tuple[tuple[str, str], ...]
    unit: tuple[tuple[str, str], ...]
    advices: tuple[AdviceView, ...]
    suits: CompatibilityView | None
    breaches: tuple[BreachView, ...]
    owed: tuple[ClockRow, ...]
    settled: tuple[ClockRow, ...]
    held_forms: Mapping[str, FormView]
    steps: tuple[StepView, ...]
    reaction: ReactionView
    record: tuple[FormView, ...]
    history: tuple[HistoryRow, ...]
    void_forms: Mapping[str, FormView]
    saved: tuple[SavedView, ...]
    observations: ObservationsView
    override: str
    charts: bool
    href: str
    standing_href: str
    policy_title: str

    @property
    def forms(self) -> list[FormView]:
        """Every form that is shown."""
        steps = [form for step in self.steps for form in (*step.forms, *step.presses)]
        touches = [*self.held_forms.values(), *self.void_forms.values()]
        return [*steps, *self.record, *touches, *self.reaction.forms]


@dataclass(frozen=True, slots=True)
class Asked:
    """How the page was asked for: a refused form, the step to open, what was stored a moment ago.

    A refused form is shown as it was typed.
    """

    sent: Sent | None = None
    step: str = ""
    recorded: tuple[str, ...] = ()


def episode_view(
    read: EpisodeRead, staff: tuple[Staff, ...], visitor: Visitor, asked: Asked
) -> EpisodeView:
    """Answer the page as it was asked for."""
    speech = speech_of(read, staff)
    desk = make_desk(read, staff, visitor, speech, asked.sent)
    picture, live = read.picture, tuple(sorted_live(read.events))
    window = _window(picture)
    owed = owed_clocks(picture, speech)
    history = history_rows(read.events, read.voided_by, picture.case.policy.charting_late, speech)
    return EpisodeView(
        row=row_view(picture, window, speech.names),
        window=_window_view(window, speech),
        revision=desk.revision,
        patient=patient_facts(picture),
        unit=unit_facts(picture, speech),
        advices=tuple(_advice(one, picture) for one in advices_beside(picture)),
        suits=None if picture.episode.issued_at is None else compatibility_view(picture),
        breaches=tuple(_breaches(picture, speech)),
        owed=owed,
        settled=settled_clocks(picture, speech),
        held_forms=_held_forms(owed, desk),
        steps=step_views(Walk(picture, live, read.gaps, desk, speech, asked.step)),
        reaction=reaction_view(picture, desk, speech),
        record=_record_forms(picture, desk),
        history=history,
        void_forms=_void_forms(history, desk),
        saved=saved_views(history, asked.recorded, desk),
        observations=observations_view(read, visitor.actor, speech, asked.recorded),
        override=_override(picture, speech, live),
        charts=desk.may(Kind.NOTE),
        href=episode_href(picture.case.request.id),
        standing_href=f"{episode_href(picture.case.request.id)}/standing",
        policy_title=picture.case.policy.title,
    )


def _override(picture: Picture, speech: Speech, live: tuple[Event, ...]) -> str:
    """Why, when and by whom the unit was started against the refusal; empty if it was not."""
    start = next((event for event in live if event.kind is Kind.STARTED), None)
    reason = picture.episode.override_reason
    if start is None or reason is None:
        return ""
    who = speech.name(start.staff_id or start.recorded_by)
    return f"Started against the refusal at {speech.time(start.happened_at)} by {who}: {reason}"


def _window(picture: Picture) -> Window:
    """A stretch that shows the whole unit; it begins at a quarter of an hour, as its axis needs."""
    episode, standing = picture.episode, picture.standing
    begun = episode.removed_at or episode.issued_at or episode.started_at
    if begun is None:
        return window_at(standing.now)
    ends = (standing.finish_limit_at, picture.infusion.projected_end_at, episode.ended_at)
    last = max(end for end in (*ends, begun) if end is not None)
    early = begun - BEFORE
    start = early - timedelta(seconds=early.timestamp() % STEP.total_seconds())
    return Window(start, last + AFTER)


def _window_view(window: Window, speech: Speech) -> WindowView:
    return WindowView(
        from_iso=iso(window.start),
        to_iso=iso(window.end),
        ticks=axis(window, speech.zone),
        now_x=window.x(speech.now),
        now_text=wall_time(speech.now, speech.zone),
    )


def _advice(advice: Advice, picture: Picture) -> AdviceView:
    if advice.rule is None or advice.rule == "order":
        return AdviceView(advice.detail, "the order" if advice.rule else advice.source)
    component = picture.case.request.component
    return AdviceView(advice.detail, source_of(picture.case.policy, advice.rule, component))


def _breaches(picture: Picture, speech: Speech) -> Iterable[BreachView]:
    for one in picture.breaches:
        late = "" if one.late_minutes is None else f"{span(max(1, round(one.late_minutes)))} late"
        text = f": {one.cause_text}" if one.cause_text else ""
        yield BreachView(
            words=f"{CLOCK[one.clock]}{'' if one.n == 1 else f' {one.n}'}",
            limit_text=speech.time(one.limit_at),
            late=late or "missed",
            cause=f"{one.cause}{text}" if one.cause else "",
        )


def _held_forms(owed: Iterable[ClockRow], desk: Desk) -> dict[str, FormView]:
    """The buttons that say "I have it" of clocks that are due or overdue."""
    me = desk.actor.staff_id
    if me is None or not desk.may(Kind.ACKNOWLEDGED):
        return {}
    return {
        row.key: desk.touch(
            Kind.ACKNOWLEDGED, f"has-{row.key}", "I have it", clock=row.name, staff_id=me
        )
        for row in owed
        if row.asks
    }


def _record_forms(picture: Picture, desk: Desk) -> tuple[FormView, ...]:
    kinds = [kind for kind in RECORD if desk.may(kind)]
    if not picture.breaches:
        kinds = [kind for kind in kinds if kind is not Kind.CAUSE_GIVEN]
    return desk.forms(tuple(kinds), "record")


def _void_forms(history: Iterable[HistoryRow], desk: Desk) -> dict[str, FormView]:
    if not desk.may(Kind.VOIDED):
        return {}
    return {
        row.key: desk.form(Kind.VOIDED, f"void-{row.key}", event_id=row.event_id)
        for row in history
        if row.voidable
    }
