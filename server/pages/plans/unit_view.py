"""The units that wait, each with its planned way on the axis of time and in words."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.plan.plan import Plan
from server.domain.plan.problem import Pin, PlanUnit
from server.domain.plan.proposal import Start, Unplaced
from server.domain.plan.supposed_units import is_supposed
from server.domain.plan.telling import unit_name
from server.domain.plan.wishes import Wish, wish_for
from server.domain.wording import COMPONENT, span, wall_time
from server.domain.workload.period import Period
from server.domain.workload.task import Work
from server.domain.workload.wording import findings_words, stretch
from server.pages.episodes.facts import PRIORITY
from server.pages.links import episode_href, plan_href
from server.pages.page_head import iso
from server.pages.row_view import dom_key
from server.pages.time_window import Window
from server.services.planning_ground import Ground
from server.services.read_plan import PlanLook


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of the way of a unit, in per cent of the axis."""

    kind: str
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class UnitLine:
    """The way of a unit: bars, marks of its checks, where it is called for and when it is in.

    The places are None where they are out of sight.
    """

    bars: tuple[Bar, ...]
    checks: tuple[float, ...]
    call_x: float | None
    end_x: float | None
    check_x: float | None
    check_iso: str
    words: str


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One unit that waits. `line` None: it has no start, and `reason` says why.

    `ways_out` say what giving way in one family of rules would bring it, `breaks` what it breaks
    where it is.
    """

    key: str
    episode_id: str
    name: str
    bed: str
    what: str
    priority: str
    href: str
    change_href: str
    line: UnitLine | None
    times: tuple[tuple[str, str], ...]
    nurse: str
    second: str
    spare: str
    why: tuple[str, ...]
    wishes: tuple[str, ...]
    reason: str
    ways_out: tuple[str, ...]
    breaks: tuple[str, ...]
    selected: bool = False


def unit_rows(look: PlanLook, window: Window, selected: str) -> tuple[UnitRow, ...]:
    """Answer every unit of the plan: by the instant of its start, those without one last.

    `selected` is the unit whose form is open.
    """
    made = [_row(look, unit, window, selected) for unit in look.ground.problem.units]
    made.sort(key=lambda pair: (pair[0] is None, pair[0] or look.ground.now, pair[1].name))
    return tuple(row for _, row in made)


def _row(
    look: PlanLook, unit: PlanUnit, window: Window, selected: str
) -> tuple[datetime | None, UnitRow]:
    ground, plan = look.ground, look.plan
    start = None if plan is None else plan.start_of(unit.episode_id)
    unplaced = _unplaced(plan, unit.episode_id) if start is None else None
    wish = wish_for(() if plan is None else plan.wishes, unit.episode_id)
    key, name = dom_key(unit.episode_id), unit_name(ground.problem, unit.episode_id)
    version = "" if plan is None else plan.id
    row = UnitRow(
        key=key,
        episode_id=unit.episode_id,
        name=name,
        bed=unit.bed,
        what=f"{COMPONENT[unit.component]}{name.removeprefix(f'bed {unit.bed}')}",
        priority=PRIORITY[unit.priority],
        href="" if is_supposed(unit.episode_id) else episode_href(unit.episode_id),
        change_href=f"{plan_href(ground.ward.id, version, unit.episode_id)}#unit-{key}",
        line=None if start is None else _line(ground, start, window),
        times=() if start is None else tuple(_times(ground, start)),
        nurse="" if start is None else _named(ground, start.nurse_id),
        second=_named(ground, start.second_id) if start and start.second_id else "",
        spare="" if start is None else spare_text(start.spare_minutes),
        why=() if start is None else tuple(one.removeprefix(f"{name}: ") for one in start.why),
        wishes=tuple(_wished(ground, wish)),
        reason="" if start else _reason(plan, unplaced).removeprefix(f"{name}: "),
        ways_out=() if unplaced is None else tuple(one.words for one in unplaced.relaxed),
        breaks=tuple(_breaks(look, unit.episode_id)),
        selected=unit.episode_id == selected,
    )
    return (None if start is None else start.check_at), row


def _breaks(look: PlanLook, episode_id: str) -> Iterator[str]:
    """What no plan may break, and what does not work out with the work as a whole."""
    snags = [one for one in look.workload.findings if episode_id in one.episode_ids]
    told = {(one.staff_ids, one.period.from_at) for one in snags}
    yield from findings_words(snags, look.ground.names, look.ground.zone)
    for one in look.findings:
        is_new = (one.staff_ids, one.period.from_at) not in told
        if one.is_hard and episode_id in one.episode_ids and is_new:
            yield sentence(one.words)


def sentence(words: str) -> str:
    """Answer words as the beginning of a sentence."""
    return f"{words[:1].upper()}{words[1:]}"


def _unplaced(plan: Plan | None, episode_id: str) -> Unplaced | None:
    listed = () if plan is None else plan.proposal.unplaced
    return next((one for one in listed if one.episode_id == episode_id), None)


def _reason(plan: Plan | None, unplaced: Unplaced | None) -> str:
    if plan is None:
        return "no plan is made"
    return "ordered since the plan was made" if unplaced is None else unplaced.reason


def spare_text(minutes: int | None) -> str:
    """Answer what is left of the limit, `1 h 20 to spare`."""
    if minutes is None:
        return "spare time not known"
    return f"{span(minutes)} to spare" if minutes >= 0 else f"{span(minutes)} too late"


def _named(ground: Ground, staff_id: str) -> str:
    return ground.names.get(staff_id, staff_id)


def _times(ground: Ground, start: Start) -> Iterator[tuple[str, str]]:
    steps = (
        ("Call at", start.call_at),
        ("Check", start.check_at),
        ("Runs from", start.start_at),
        ("First check", start.first_check_at),
        ("In by", start.projected_end_at),
    )
    for words, at in steps:
        if at is not None:
            yield words, wall_time(at, ground.zone, ground.now)


def _line(ground: Ground, start: Start, window: Window) -> UnitLine:
    watch_until = start.start_at + ground.terms.watch
    stretches = (
        ("brought", start.call_at or start.check_at, start.check_at),
        ("check", start.check_at, start.start_at),
        ("watch", start.start_at, watch_until),
        ("run", watch_until, max(watch_until, start.projected_end_at)),
    )
    cuts = ((kind, window.cut(first, last)) for kind, first, last in stretches)
    bars = tuple(Bar(kind, cut[0], round(cut[1] - cut[0], 2)) for kind, cut in cuts if cut)
    laid = (one.at for one in start.checks if one.work is not Work.FINISH)
    sets = sorted({start.first_check_at, *laid})
    said = (f"{words.lower()} {at}" for words, at in _times(ground, start))
    return UnitLine(
        bars=bars,
        checks=tuple(window.x(at) for at in sets if window.shows(at)),
        call_x=_place(window, start.call_at),
        end_x=_place(window, start.projected_end_at),
        check_x=_place(window, start.check_at),
        check_iso=iso(start.check_at),
        words=", ".join(said),
    )


def _place(window: Window, at: datetime | None) -> float | None:
    return window.x(at) if at is not None and window.shows(at) else None


def _wished(ground: Ground, wish: Wish) -> Iterator[str]:
    if wish.pin != Pin():
        yield "fixed by hand"
    for one in wish.forbidden:
        yield f"not {stretch(Period(one.from_at, one.until_at), ground.zone)}"
