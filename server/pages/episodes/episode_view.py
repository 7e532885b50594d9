"""Everything on the page of one unit, drawn from what is known of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.advices import Advice
from server.domain.clock import OWED
from server.domain.events import sorted_live
from server.domain.observations import FIELDS_OF_SIGN
from server.domain.picture import Picture
from server.domain.policy import source_of
from server.domain.wording import CLOCK, span, wall_time
from server.domain.words import ClockName, Kind
from server.pages.episodes.before import on_record, values_before
from server.pages.episodes.clock_rows import ClockRow, owed_clocks, settled_clocks
from server.pages.episodes.desk import Desk, FormView, Sent
from server.pages.episodes.facts import patient_facts, unit_facts
from server.pages.episodes.history import HistoryRow, history_rows
from server.pages.episodes.reaction_view import ReactionView, reaction_view
from server.pages.episodes.sentences import Speech
from server.pages.episodes.step_views import StepView, step_views
from server.pages.event_forms.read import FAHRENHEIT
from server.pages.forms.fields import Options
from server.pages.forms.views import Surroundings
from server.pages.links import episode_href
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
    board_href: str
    revision: int
    patient: tuple[tuple[str, str], ...]
    unit: tuple[tuple[str, str], ...]
    advices: tuple[AdviceView, ...]
    breaches: tuple[BreachView, ...]
    owed: tuple[ClockRow, ...]
    settled: tuple[ClockRow, ...]
    held_forms: Mapping[str, FormView]
    steps: tuple[StepView, ...]
    reaction: ReactionView
    record: tuple[FormView, ...]
    history: tuple[HistoryRow, ...]
    void_forms: Mapping[str, FormView]
    charts: bool
    standing_href: str
    policy_title: str


def episode_view(
    read: EpisodeRead, staff: Iterable[Staff], visitor: Visitor, board_href: str, sent: Sent | None
) -> EpisodeView:
    """Answer the page; `sent` is a form that was refused, to be shown as it was typed."""
    listed = tuple(staff)
    speech = _speech(read, listed)
    desk = _desk(read, listed, visitor, speech, sent)
    picture, live = read.picture, tuple(sorted_live(read.events))
    window = _window(picture)
    owed = owed_clocks(picture, speech)
    history = history_rows(read.events, read.voided_by, picture.case.policy.charting_late, speech)
    return EpisodeView(
        row=row_view(picture, window, speech.names),
        window=_window_view(window, speech),
        board_href=board_href,
        revision=desk.revision,
        patient=patient_facts(picture),
        unit=unit_facts(picture, speech),
        advices=tuple(_advice(one, picture) for one in picture.advices),
        breaches=tuple(_breaches(picture, speech)),
        owed=owed,
        settled=settled_clocks(picture, speech),
        held_forms=_held_forms(owed, desk),
        steps=step_views(picture, live, read.missing, desk, speech),
        reaction=reaction_view(picture, live, desk, speech),
        record=_record_forms(picture, desk),
        history=history,
        void_forms=_void_forms(history, desk),
        charts=desk.may(Kind.NOTE),
        standing_href=f"{episode_href(picture.case.request.id)}/standing",
        policy_title=picture.case.policy.title,
    )


def revision_of(read: EpisodeRead) -> int:
    """Answer the revision of a unit: the place in the log of its last event."""
    return max((event.position for event in read.events), default=0)


def lists_of(picture: Picture, staff: Iterable[Staff]) -> dict[str, Options]:
    """Answer the lists that forms choose from: staff, owed clocks, breaches."""
    owed = dict.fromkeys(
        clock.name
        for clock, state in picture.clocks
        if state in OWED and clock.name is not ClockName.LATE_WATCH
    )
    return {
        "staff": tuple((one.id, one.name) for one in staff if one.active),
        "clocks": tuple((name.value, CLOCK[name]) for name in owed),
        "breaches": tuple(
            (f"{one.clock}:{one.n}", f"{CLOCK[one.clock]}{'' if one.n == 1 else f' {one.n}'}")
            for one in picture.breaches
        ),
    }


def _speech(read: EpisodeRead, staff: tuple[Staff, ...]) -> Speech:
    return Speech(
        zone=ZoneInfo(read.ward.timezone),
        temperature_unit=read.ward.temperature_unit,
        names={one.id: one.name for one in staff} | dict(read.names),
        now=read.at,
    )


def _desk(
    read: EpisodeRead,
    staff: tuple[Staff, ...],
    visitor: Visitor,
    speech: Speech,
    sent: Sent | None,
) -> Desk:
    me = visitor.actor.staff_id or ""
    fahrenheit = {"temperature_c": "°F"} if speech.temperature_unit == FAHRENHEIT else {}
    return Desk(
        actor=visitor.actor,
        ward_id=read.ward.id,
        href=f"{episode_href(read.picture.case.request.id)}/events",
        csrf_token=visitor.csrf_token,
        revision=revision_of(read),
        now=read.at,
        around=Surroundings(
            zone=speech.zone,
            lists=lists_of(read.picture, staff),
            before=values_before(read.picture, speech),
            units=fahrenheit,
            on_record=on_record(read.picture, speech),
            holds=frozenset({"missing"}) if read.missing else frozenset(),
            needed=_needed(read.picture),
        ),
        sent=sent,
        defaults={
            Kind.IDENTITY_CHECKED: {"first_by": me},
            Kind.ACKNOWLEDGED: {"staff_id": me},
            Kind.ASSIGNED: {"nurse_id": read.picture.episode.nurse_id or me},
        },
        notes={Kind.OBSERVED: _full_set(read.picture)},
    )


def _needed(picture: Picture) -> frozenset[str]:
    """The fields of the signs that a full set has, and of the second checker where two check."""
    policy = picture.case.policy
    signs = {name for sign in policy.observations_required for name in FIELDS_OF_SIGN[sign]}
    return frozenset(signs | ({"second_by"} if policy.identity_checkers > 1 else set()))


def _full_set(picture: Picture) -> str:
    signs = [sign.replace("_", " ") for sign in picture.case.policy.observations_required]
    listed = ", ".join(signs).replace("spo2", "SpO₂")
    return f"A full set: {listed}. A partial set is kept, and meets no check."


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
        return AdviceView(advice.detail, "the order" if advice.rule else "")
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
