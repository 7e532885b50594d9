"""How a unit stands: the part of its page that is asked for again every few seconds."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.advices import Advice
from server.domain.picture import Picture
from server.domain.policy import source_of
from server.domain.wording import clock_text, wall_time
from server.domain.words import Kind
from server.pages.breach_pages.list_view import how_late
from server.pages.compatibility_view import CompatibilityView, advices_beside, compatibility_view
from server.pages.episodes.clock_rows import ClockRow, owed_clocks, settled_clocks
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.facts import patient_facts, unit_facts
from server.pages.episodes.sentences import Speech
from server.pages.links import breach_href, episode_href, hand_href, record_href
from server.pages.page_head import iso
from server.pages.row_view import RowView, row_view
from server.pages.time_window import STEP, Tick, Window, axis, window_at

BEFORE: Final = timedelta(minutes=15)
AFTER: Final = timedelta(minutes=25)


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
    href: str


@dataclass(frozen=True, slots=True)
class AdviceView:
    """One advice with the source of its rule, empty for a plain fact."""

    detail: str
    source: str


@dataclass(frozen=True, slots=True)
class StandingView:
    """Who, why, the line, the clocks. `charts`: the person may record something of the unit."""

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
    charts: bool
    href: str
    hand_href: str
    record_href: str
    policy_title: str


def standing_view(picture: Picture, desk: Desk, speech: Speech) -> StandingView:
    """Answer how the unit stands; `href` is where this part is asked for again, if it ever is."""
    window, owed = _window(picture), owed_clocks(picture, speech)
    episode_id = picture.case.request.id
    return StandingView(
        row=row_view(picture, window, speech.names),
        window=_window_view(window, speech),
        revision=desk.revision,
        patient=patient_facts(picture),
        unit=unit_facts(picture, speech),
        advices=tuple(_advice(one, picture) for one in advices_beside(picture)),
        suits=None if picture.episode.issued_at is None else compatibility_view(picture),
        breaches=tuple(breach_views(picture, speech)),
        owed=owed,
        settled=settled_clocks(picture, speech),
        held_forms=_held_forms(owed, desk),
        charts=desk.may(Kind.NOTE),
        href="" if desk.still else f"{episode_href(episode_id)}/standing",
        hand_href=hand_href(episode_id),
        record_href=record_href(episode_id),
        policy_title=picture.case.policy.title,
    )


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


def breach_views(picture: Picture, speech: Speech) -> Iterable[BreachView]:
    """Answer the limits that were not kept, the earliest first."""
    for one in picture.breaches:
        text = f": {one.cause_text}" if one.cause_text else ""
        yield BreachView(
            words=clock_text(one.clock, one.n),
            limit_text=speech.time(one.limit_at),
            late=how_late(one),
            cause=f"{one.cause}{text}" if one.cause else "",
            href=breach_href(picture.case.request.id, one.clock, one.n),
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
