"""Everything on the page of one unit, drawn from what is known of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from server.domain.events import Event, sorted_live
from server.domain.picture import Picture
from server.domain.words import Kind
from server.pages.episodes.desk import Desk, FormView, Sent
from server.pages.episodes.history import HistoryRow, history_rows
from server.pages.episodes.make_desk import make_desk, speech_of
from server.pages.episodes.reaction_view import ReactionView, reaction_view
from server.pages.episodes.saved import SavedView, saved_views
from server.pages.episodes.sentences import Speech
from server.pages.episodes.standing import StandingView, standing_view
from server.pages.episodes.step_views import StepView, Walk, step_views
from server.pages.links import episode_href
from server.pages.observations.section import ObservationsView, observations_view
from server.pages.visitors import Visitor
from server.services.read_episode import EpisodeRead
from server.store.staff import Staff

RECORD: Final = (Kind.ASSIGNED, Kind.ACKNOWLEDGED, Kind.NOTE, Kind.CAUSE_GIVEN)


@dataclass(frozen=True, slots=True)
class EpisodeView:
    """The page of one unit."""

    href: str
    standing: StandingView
    steps: tuple[StepView, ...]
    reaction: ReactionView
    record: tuple[FormView, ...]
    history: tuple[HistoryRow, ...]
    void_forms: Mapping[str, FormView]
    saved: tuple[SavedView, ...]
    observations: ObservationsView
    override: str

    @property
    def forms(self) -> list[FormView]:
        """Every form that is shown."""
        steps = [form for step in self.steps for form in (*step.forms, *step.presses)]
        touches = [*self.standing.held_forms.values(), *self.void_forms.values()]
        return [*steps, *self.record, *touches, *self.reaction.forms]


@dataclass(frozen=True, slots=True)
class Asked:
    """How the page was asked for: a refused form, the step to open, what was stored a moment ago.

    A refused form is shown as it was typed. `still`: as it was at an instant, without any form.
    """

    sent: Sent | None = None
    step: str = ""
    recorded: tuple[str, ...] = ()
    still: bool = False


def episode_view(
    read: EpisodeRead, staff: tuple[Staff, ...], visitor: Visitor, asked: Asked
) -> EpisodeView:
    """Answer the page as it was asked for."""
    speech = speech_of(read, staff)
    desk = replace(make_desk(read, staff, visitor, speech, asked.sent), still=asked.still)
    picture, live = read.picture, tuple(sorted_live(read.events))
    history = history_rows(read.events, read.voided_by, picture.case.policy.charting_late, speech)
    return EpisodeView(
        href=episode_href(picture.case.request.id),
        standing=standing_view(picture, desk, speech),
        steps=step_views(Walk(picture, live, read.gaps, desk, speech, asked.step)),
        reaction=reaction_view(picture, desk, speech),
        record=_record_forms(picture, desk),
        history=history,
        void_forms=_void_forms(history, desk),
        saved=saved_views(history, asked.recorded, desk),
        observations=observations_view(read, visitor.actor, speech, asked.recorded),
        override=_override(picture, speech, live),
    )


def standing_alone(read: EpisodeRead, staff: tuple[Staff, ...], visitor: Visitor) -> StandingView:
    """Answer only how the unit stands."""
    speech = speech_of(read, staff)
    return standing_view(read.picture, make_desk(read, staff, visitor, speech, None), speech)


def _override(picture: Picture, speech: Speech, live: tuple[Event, ...]) -> str:
    """Why, when and by whom the unit was started against the refusal; empty if it was not."""
    start = next((event for event in live if event.kind is Kind.STARTED), None)
    reason = picture.episode.override_reason
    if start is None or reason is None:
        return ""
    who = speech.name(start.staff_id or start.recorded_by)
    return f"Started against the refusal at {speech.time(start.happened_at)} by {who}: {reason}"


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
