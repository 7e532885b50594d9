"""The page of a suspected reaction: what to do now, what to record, what to tell the laboratory."""

from dataclasses import dataclass, replace

from server.domain.reaction import Suspicion
from server.domain.wording import COMPONENT
from server.domain.words import Kind
from server.pages.episodes.desk import Desk, FormView, Sent
from server.pages.episodes.history import history_rows
from server.pages.episodes.make_desk import make_desk, speech_of
from server.pages.episodes.reaction_summary import laboratory_facts
from server.pages.episodes.reaction_view import ReactionView, reaction_view, symptoms_text
from server.pages.episodes.saved import SavedView, saved_views
from server.pages.episodes.sentences import Speech
from server.pages.links import episode_href, ward_href
from server.pages.observations.section import ObservationsView, observations_view
from server.pages.visitors import Visitor
from server.services.read_episode import EpisodeRead
from server.services.read_linked import LinkedUnit
from server.store.staff import Staff


@dataclass(frozen=True, slots=True)
class LinkedView:
    """A unit that was warned of, and whether somebody has checked it."""

    href: str
    words: str
    checked: str


@dataclass(frozen=True, slots=True)
class EarlierView:
    """A suspicion that was closed."""

    since: str
    symptoms: str
    closed: str
    outcome: str


@dataclass(frozen=True, slots=True)
class ReactionPage:
    """Everything on the page. The forms are None for who may not record.

    `observations` says what the sets of vital signs say, those of a moment ago first.
    """

    panel: ReactionView
    bed: str
    name: str
    component: str
    unit_href: str
    board_href: str
    standing_href: str
    revision: int
    opened: str
    saved: tuple[SavedView, ...]
    observations: ObservationsView
    laboratory: tuple[tuple[str, str], ...]
    identity_error: str
    linked: tuple[LinkedView, ...]
    earlier: tuple[EarlierView, ...]
    signs: FormView | None
    observed: FormView | None
    other: FormView | None
    close: FormView | None

    @property
    def linked_text(self) -> str:
        """How many units are warned of, and how many of them nobody has checked."""
        unchecked = sum(not unit.checked for unit in self.linked)
        return f"{len(self.linked)} warned of on this ward, {unchecked} not yet checked"

    @property
    def forms(self) -> list[FormView]:
        """Every form that is shown."""
        shown = (self.signs, self.observed, self.other, self.close)
        steps = [form for step in self.panel.steps for form in step.buttons]
        return [form for form in (*shown, *steps, *self.panel.forms) if form is not None]


@dataclass(frozen=True, slots=True)
class AskedReaction:
    """How the page was asked for.

    `sent` is a refused form to show as it was typed, `recorded` what was stored a moment ago,
    `opened` the kind of event whose form is to be open.
    """

    sent: Sent | None = None
    recorded: tuple[str, ...] = ()
    opened: str = ""


def reaction_page(
    read: EpisodeRead,
    staff: tuple[Staff, ...],
    visitor: Visitor,
    linked: tuple[LinkedUnit, ...],
    asked: AskedReaction,
) -> ReactionPage:
    """Answer the page as it was asked for."""
    picture, suspicion = read.picture, read.picture.episode.reaction
    speech = speech_of(read, staff)
    plain = make_desk(read, staff, visitor, speech, asked.sent)
    panel = reaction_view(picture, plain, speech)
    desk = replace(plain, href=panel.href)
    request = picture.case.request
    return ReactionPage(
        panel=panel,
        bed=request.bed,
        name=picture.case.patient.full_name,
        component=COMPONENT[request.component],
        unit_href=episode_href(request.id),
        board_href=ward_href(read.ward.id, "board"),
        standing_href=f"{panel.href}/standing",
        revision=desk.revision,
        opened=asked.opened,
        saved=_saved(read, asked.recorded, plain, speech),
        observations=observations_view(read, visitor.actor, speech, asked.recorded),
        laboratory=_laboratory(read, suspicion, speech),
        identity_error=_identity_error(suspicion, speech),
        linked=tuple(_linked(unit, speech) for unit in linked),
        earlier=tuple(_earlier(one, speech) for one in picture.episode.reactions if one.outcome),
        signs=_form(desk, Kind.REACTION_SUSPECTED, shown=picture.episode.started_at is not None),
        observed=_form(desk, Kind.OBSERVED, shown=suspicion is not None),
        other=_form(desk, Kind.REACTION_STEP, shown=suspicion is not None),
        close=_form(desk, Kind.REACTION_CLOSED, shown=suspicion is not None),
    )


def _form(desk: Desk, kind: Kind, *, shown: bool) -> FormView | None:
    """A form that is offered, or that was refused a moment ago and must not lose what was typed."""
    sent = desk.sent is not None and desk.sent.key == f"reaction-{kind}"
    return desk.form(kind, "reaction") if desk.may(kind) and (shown or sent) else None


def _saved(
    read: EpisodeRead, recorded: tuple[str, ...], desk: Desk, speech: Speech
) -> tuple[SavedView, ...]:
    if not recorded:
        return ()
    late = read.picture.case.policy.charting_late
    return saved_views(history_rows(read.events, read.voided_by, late, speech), recorded, desk)


def _laboratory(
    read: EpisodeRead, suspicion: Suspicion | None, speech: Speech
) -> tuple[tuple[str, str], ...]:
    last = suspicion or next(reversed(read.picture.episode.reactions), None)
    return () if last is None else laboratory_facts(read.picture, last, read.ward.name, speech)


def _identity_error(suspicion: Suspicion | None, speech: Speech) -> str:
    error = None if suspicion is None else suspicion.identity_error
    return "" if error is None else f"found {speech.time(error.at)} by {speech.name(error.by)}"


def _linked(unit: LinkedUnit, speech: Speech) -> LinkedView:
    number = f" {unit.unit_number}" if unit.unit_number else ""
    checked = "" if unit.checked_at is None else f"checked {speech.time(unit.checked_at)}"
    words = f"Bed {unit.bed}, {COMPONENT[unit.component].lower()}{number}"
    return LinkedView(episode_href(unit.episode_id), words, checked)


def _earlier(one: Suspicion, speech: Speech) -> EarlierView:
    closed = "" if one.closed_at is None else speech.time(one.closed_at)
    by = f" by {speech.name(one.closed_by)}" if one.closed_by else ""
    named = f" ({one.classification})" if one.classification else ""
    return EarlierView(
        since=speech.time(one.since),
        symptoms=symptoms_text(one),
        closed=f"{closed}{by}",
        outcome=f"{one.outcome}{named}",
    )
