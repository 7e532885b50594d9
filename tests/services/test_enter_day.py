"""A day of a ward entered at once, copied to another, and who may do neither."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import pytest

from server.domain.errors import Invalid
from server.domain.workload.capacity import Duty, NightRule, WallWindow, WardLimits
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.copy_day import copy_day
from server.services.enter_day import DayDraft, PersonDay, enter_day, read_limits, use_learnt
from server.services.enter_shift import ShiftDraft, remove_shift
from server.services.errors import Conflict, Forbidden, NotFound
from server.store.sessions import ReadSession
from server.store.shifts import Break, Shift, shifts_between
from server.store.training import ShiftWork, Training, read_shift_work, read_training
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE

BREAK = Break(at(120), at(150))
ROUND = Duty(Period(at(60), at(90)), "round")
WORK = ShiftWork(frozenset({"4", "5"}), (ROUND,))
ONLY_SECOND = Training(may_start=False)
NINA = PersonDay(
    ShiftDraft("nurse-1", "w1", at(0), at(480), (BREAK,), "s1"), WORK, Training(skills=frozenset())
)
CLEO = PersonDay(ShiftDraft("nurse-2", "w1", at(0), at(240), (), "s2"), ShiftWork(), ONLY_SECOND)
LIMITS = WardLimits((WallWindow(time(19), time(19, 30)),), NightRule.REFUSED, most_starts=2)
DAY = DayDraft("w1", (NINA, CLEO), (), LIMITS)


def _enter(charting: Charting, draft: DayDraft = DAY, actor: Actor = CHARGE) -> tuple[Shift, ...]:
    with charting.store.write() as session:
        return enter_day(session, actor, draft, now=at(0))


def _there(session: ReadSession, day: int = 0) -> tuple[Shift, ...]:
    return shifts_between(session, "w1", at(day * 1440), at((day + 1) * 1440))


@ON_BOTH_ENGINES
def test_a_day_is_entered_whole_and_changed_whole(charting: Charting) -> None:
    entered = _enter(charting)
    again = _enter(charting, replace(DAY, people=(replace(NINA, training=None),), removed=("s2",)))

    first = Shift("s1", "nurse-1", "w1", at(0), at(480), (BREAK,))
    assert entered == (first, Shift("s2", "nurse-2", "w1", at(0), at(240)))
    assert again == (first,)
    with charting.store.read() as session:
        assert _there(session) == (first,)
        assert read_shift_work(session, ["s1", "s2"]) == {"s1": WORK}
        trained = {"nurse-1": Training(), "nurse-2": ONLY_SECOND}
        assert read_training(session, ["nurse-1", "nurse-2"]) == trained
        assert read_limits(session, MANAGER, "w1", now=at(0)) == LIMITS
        assert read_limits(session, MANAGER, "w1", now=at(-1)) == WardLimits()


def _with(**changed: object) -> PersonDay:
    return replace(NINA, shift=replace(NINA.shift, **changed))  # type: ignore[arg-type]


def _doing(*duties: Duty) -> PersonDay:
    return replace(NINA, work=ShiftWork(duties=duties))


@pytest.mark.parametrize(
    ("draft", "field"),
    [
        (replace(DAY, people=(CLEO, _with(ends_at=at(0)))), "people.1.ends_at"),
        (
            replace(DAY, people=(_with(breaks=(Break(at(-9), at(9)),)),)),
            "people.0.breaks.0.starts_at",
        ),
        (replace(DAY, people=(_with(staff_id="nurse-9"),)), "people.0.staff_id"),
        (replace(DAY, people=(NINA, _with(id="s3"))), "people.0.starts_at"),
        (replace(DAY, people=(_doing(replace(ROUND, name=" ")),)), "people.0.duties.0.name"),
        (
            replace(DAY, people=(_doing(replace(ROUND, name="x" * 41)), CLEO)),
            "people.0.duties.0.name",
        ),
        (
            replace(DAY, people=(_doing(ROUND, Duty(Period(at(90), at(90)), "tea")),)),
            "people.0.duties.1.until_at",
        ),
        (
            replace(DAY, people=(_doing(Duty(Period(at(470), at(490)), "late")),)),
            "people.0.duties.0.from_at",
        ),
        (
            replace(DAY, people=(_doing(ROUND, Duty(Period(at(80), at(99)), "tea")),)),
            "people.0.duties",
        ),
        (
            replace(DAY, people=(replace(NINA, work=ShiftWork(frozenset({"x" * 41}))),)),
            "people.0.beds",
        ),
        (
            replace(DAY, people=(replace(NINA, work=ShiftWork(frozenset(map(str, range(41))))),)),
            "people.0.beds",
        ),
        (
            replace(DAY, people=(replace(NINA, training=Training(skills=frozenset({" "}))),)),
            "people.0.skills",
        ),
        (replace(DAY, limits=replace(LIMITS, most_starts=0)), "most_starts"),
        (replace(DAY, limits=replace(LIMITS, porters=51)), "porters"),
        (replace(DAY, limits=replace(LIMITS, issues_per_quarter=0)), "issues_per_quarter"),
        (
            replace(DAY, limits=WardLimits((WallWindow(time(7), time(7)),))),
            "handovers.0.until_time",
        ),
    ],
)
def test_what_cannot_be_is_refused_by_its_field_and_nothing_is_stored(
    charting: Charting, draft: DayDraft, field: str
) -> None:
    with pytest.raises(Invalid) as refused:
        _enter(charting, draft)

    assert refused.value.field == field
    with charting.store.read() as session:
        assert _there(session) == ()
        assert read_limits(session, CHARGE, "w1", now=at(0)) == WardLimits()


@pytest.mark.parametrize("actor", [NURSE, MANAGER, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_who_plans_no_staff_here_enters_and_copies_nothing(
    charting: Charting, actor: Actor
) -> None:
    with pytest.raises(Forbidden):
        _enter(charting, actor=actor)
    with pytest.raises(Forbidden), charting.store.write() as session:
        copy_day(
            session, actor, "w1", from_day=date(2026, 3, 3), to_day=date(2026, 3, 4), now=at(0)
        )


def test_learnt_minutes_are_the_managers_to_switch_on(charting: Charting) -> None:
    for actor in (CHARGE, NURSE):
        with pytest.raises(Forbidden), charting.store.write() as session:
            use_learnt(session, actor, "w1", learnt=True, now=at(0))
    with charting.store.write() as session:
        use_learnt(session, MANAGER, "w1", learnt=True, now=at(-5))
    _enter(charting)

    with charting.store.read() as session:
        assert read_limits(session, CHARGE, "w1", now=at(0)) == replace(LIMITS, use_learnt=True)
        with pytest.raises(Forbidden):
            read_limits(session, OUTSIDE_CHARGE, "w1", now=at(0))


def test_a_day_is_copied_by_the_clock_on_the_wall(charting: Charting) -> None:
    _enter(charting)
    with charting.store.write() as session:
        remove_shift(session, CHARGE, "s2", now=at(-240))
        enter_day(session, CHARGE, DayDraft("w1", (CLEO,)), now=at(0))
    today = at(0).date()

    with charting.store.write() as session:
        copied = copy_day(
            session, CHARGE, "w1", from_day=today, to_day=today + timedelta(days=1), now=at(0)
        )

    with charting.store.read() as session:
        assert set(_there(session, 1)) == set(copied)
        assert [(one.staff_id, one.starts_at, one.ends_at, one.breaks) for one in copied] == [
            ("nurse-1", at(1440), at(1920), (Break(at(1560), at(1590)),)),
            ("nurse-2", at(1440), at(1680), ()),
        ]
        moved = ShiftWork(WORK.beds, (Duty(Period(at(1500), at(1530)), "round"),))
        work = read_shift_work(session, [one.id for one in copied])
        assert work == {copied[0].id: moved, copied[1].id: ShiftWork()}
    with pytest.raises(Conflict), charting.store.write() as session:
        copy_day(session, CHARGE, "w1", from_day=today, to_day=today + timedelta(days=1), now=at(0))
    everywhere = replace(CHARGE, wards=None)
    with pytest.raises(NotFound), charting.store.write() as session:
        copy_day(
            session, everywhere, "w9", from_day=today, to_day=today + timedelta(days=1), now=at(0)
        )


def test_a_copy_keeps_its_wall_time_when_the_clocks_change(charting: Charting) -> None:
    # London: on 29 March 2026 one o'clock becomes two.
    before = datetime.fromisoformat("2026-03-28T07:00:00+00:00")
    shift = ShiftDraft("nurse-1", "w1", before, before + timedelta(hours=8), (), "s1")
    _enter(charting, DayDraft("w1", (PersonDay(shift, ShiftWork()),)))

    with charting.store.write() as session:
        (copied,) = copy_day(
            session, CHARGE, "w1", from_day=date(2026, 3, 28), to_day=date(2026, 3, 29), now=at(0)
        )

    assert copied.starts_at == datetime.fromisoformat("2026-03-29T06:00:00+00:00")
    assert copied.ends_at == datetime.fromisoformat("2026-03-29T14:00:00+00:00")
