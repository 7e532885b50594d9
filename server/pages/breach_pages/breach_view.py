"""The page of one limit that was not kept, or that was shown as passed and kept after all."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from server.domain.alarm import MARK, OF_LEVEL, Alarm
from server.domain.breaches import Breach
from server.domain.clock import SECOND
from server.domain.picture import Picture
from server.domain.wording import COMPONENT, LEVEL, clock_text, span, whole_minutes
from server.domain.words import ClockState, Kind
from server.pages.breach_pages.causes_view import CauseView, cause_views
from server.pages.breach_pages.limit_view import limit_rules
from server.pages.breach_pages.list_view import late_words, stamp_near
from server.pages.breach_pages.timeline import Happening, timeline
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.sentences import Speech
from server.pages.links import breach_href, episode_href, ward_href
from server.pages.page_head import iso
from server.pages.policies import ValueView
from server.services.read_breach import BreachRead

Stretches = tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True, slots=True)
class Said:
    """What the row of a unit said at an instant: the tag of its level, and why it stood there."""

    priority: str
    mark: str
    word: str
    why: str


@dataclass(frozen=True, slots=True)
class Other:
    """Another breach of the same unit."""

    href: str
    words: str


@dataclass(frozen=True, slots=True)
class BreachView:
    """One limit. `stands` is `open`, `explained` or `kept`; `summary` says how late it was met.

    `said` is the row of the board in the second after the limit, as known then. `late` tells what
    was charted late, and what that showed. `rules` are the values of the policy, with sources.
    """

    title: str
    stands: str
    summary: str
    bed: str
    patient: str
    component: str
    limit_text: str
    rules: tuple[ValueView, ...]
    policy_title: str
    said: Said | None
    late: tuple[str, ...]
    happenings: tuple[Happening, ...]
    causes: tuple[CauseView, ...]
    form: FormView | None
    others: tuple[Other, ...]
    unit_href: str
    unit_then_href: str
    board_then_href: str
    list_href: str

    @property
    def forms(self) -> list[FormView]:
        """Every form that is shown."""
        voids = [one.void for one in self.causes if one.void is not None]
        return [*voids, *([self.form] if self.form else [])]


def breach_view(breach: BreachRead, desk: Desk, speech: Speech, near: Speech) -> BreachView:
    """Answer the page; `near` speaks of times as from the limit, `speech` as from now."""
    case, clock = breach.read.picture.case, breach.clock
    asked = f"?at={iso(breach.passed_at)}&known_at={iso(breach.passed_at)}"
    unit = episode_href(case.request.id)
    return BreachView(
        title=clock_text(clock.name, clock.n),
        stands=_stands(breach.breach),
        summary=_summary(breach, near),
        bed=case.request.bed,
        patient=case.patient.full_name,
        component=COMPONENT[case.request.component],
        limit_text=stamp_near(breach.passed_at - SECOND, speech.zone, speech.now),
        rules=limit_rules(clock, case.policy, case.request.component),
        policy_title=case.policy.title,
        said=None if breach.then is None else _said(breach.then),
        late=tuple(_late(breach, near)),
        happenings=timeline(breach, near),
        causes=cause_views(breach, desk, speech),
        form=_form(breach, desk),
        others=tuple(_others(breach, speech)),
        unit_href=unit,
        unit_then_href="" if breach.then is None else f"{unit}{asked}",
        board_then_href=f"{ward_href(case.request.ward_id, 'replay')}{asked}",
        list_href=ward_href(case.request.ward_id, "breaches"),
    )


def _stands(breach: Breach | None) -> str:
    if breach is None:
        return "kept"
    return "open" if breach.cause is None else "explained"


def _summary(breach: BreachRead, near: Speech) -> str:
    """How the limit was met, in a sentence."""
    met = breach.clock.met_at
    if breach.breach is None:
        return "" if met is None else f"Met {near.time(met)}, in time."
    if breach.state is ClockState.OVERDUE:
        return f"Not met yet, {late_words(breach.breach)} after the limit."
    if met is None:
        return "Missed: it can no longer be met."
    return f"Met {near.time(met)}, {late_words(breach.breach)} late."


def _said(then: Picture) -> Said:
    level = then.urgency.level
    priority = OF_LEVEL.get(level, Alarm.NONE)
    return Said(priority, MARK[priority], LEVEL[level], then.urgency.reason)


def _late(breach: BreachRead, near: Speech) -> Iterator[str]:
    """What was charted after it was done, and what boards showed because of it."""
    course, met = breach.course, breach.clock.met_at
    limit = breach.passed_at - SECOND
    known = course.first_known_at
    if known is not None and known > limit:
        yield (
            f"That it was owed was first recorded at {near.time(known)}, after its limit: "
            "nobody could have been reminded in time."
        )
    told = course.told_at
    if met is not None and told is not None and whole_minutes(met, told) > 0:
        after = span(whole_minutes(met, told))
        yield f"It was done at {near.time(met)} and charted at {near.time(told)}, {after} after."
    yield from _shown(breach, near)


def _shown(breach: BreachRead, near: Speech) -> Iterator[str]:
    """For how long boards showed it as passed and not done, and how much of that was charting."""
    shown = breach.course.shown
    if not shown:
        yield "No board ever showed it as passed and not done."
        return
    since, until = near.time(shown[0][0]), near.time(shown[-1][1])
    lasts = shown[-1][1] > breach.course.until
    if lasts and breach.state is ClockState.MISSED:
        yield f"It has been shown as missed since {since}."
        return
    minutes = span(max(1, sum(whole_minutes(begins, ends) for begins, ends in shown)))
    still = "still" if lasts else f"until {until}"
    yield f"Boards showed it as passed and not done for {minutes}, from {since}, {still}."
    if breach.breach is None:
        yield "None of that was a breach: it had been done in time."
    elif breach.clock.met_at is not None:
        yield from _by_charting(shown, breach.clock.met_at)


def _by_charting(shown: Stretches, met_at: datetime) -> Iterator[str]:
    """How much of what was shown came from charting after it was done."""
    minutes = sum(
        whole_minutes(max(since, met_at), until) for since, until in shown if until > met_at
    )
    if minutes:
        yield f"{span(minutes)} of that only because it was not charted yet."


def _form(breach: BreachRead, desk: Desk) -> FormView | None:
    gives = breach.breach is not None and desk.may(Kind.CAUSE_GIVEN)
    # Here it is the one thing to do, on the page of the unit one of many.
    return replace(desk.form(Kind.CAUSE_GIVEN, "cause"), tone="") if gives else None


def _others(breach: BreachRead, speech: Speech) -> Iterator[Other]:
    unit = breach.read.picture.case.request.id
    for one in breach.read.picture.breaches:
        if (one.clock, one.n) != (breach.clock.name, breach.clock.n):
            stands = "open" if one.cause is None else one.cause
            words = f"{clock_text(one.clock, one.n)}, limit {speech.time(one.limit_at)}"
            yield Other(breach_href(unit, one.clock, one.n), f"{words}: {stands}")
