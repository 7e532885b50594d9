"""The review of a period: what it is made of, on one ward and on several, part by part."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Completed, Confirmed, FateRecorded, Issued, Returned
from server.domain.review.counted import Fated
from server.domain.review.days import Days
from server.domain.review.periods import By
from server.domain.review.rates import Tally
from server.domain.review.share import Share
from server.domain.review.survival import Ended, kaplan_meier
from server.domain.review.times import Lateness
from server.domain.words import ClockName, Component, Confirmation, Fate
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.note_ward_change import note_ward_change
from server.services.review_ground import Asked
from server.services.review_period import Review, review_period
from tests.domain.builders import BASE, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, OUTSIDER, PROGRAM
from tests.services.random_files import fresh_stores
from tests.services.told_week import END, Week

TUESDAY = BASE.date()
DAY = timedelta(days=1)
MARCH = Days(date(2026, 3, 1), date(2026, 3, 31))
START = ClockName.START


def review(
    charting: Charting,
    minute: float = 600,
    ward_id: str | None = "w1",
    *,
    days: Days = MARCH,
    by: By = By.WEEK,
    component: Component | None = None,
    actor: Actor = MANAGER,
) -> Review:
    """What somebody sees at a minute."""
    asked = Asked(days, by, component)
    with charting.store.read() as session:
        return review_period(session, actor, ward_id, asked, now=at(minute))


@ON_BOTH_ENGINES
def test_a_period_is_told_in_all_that_is_counted(charting: Charting) -> None:
    """Issued at 10:00: red cells begun after 10 min, platelets after 40, and plasma sent back."""
    charting.run("e1", "p1")
    charting.record(100, Completed(), "e1")
    charting.record(101, FateRecorded(Fate.TRANSFUSED), "e1")
    charting.record(110, Confirmed(Confirmation.REASSESSED), "e1")
    charting.open("e2", "p2", component=Component.PLATELETS)
    charting.issue("e2")
    charting.start("e2", minute=40)
    charting.open("e3", "p2", component=Component.PLASMA)
    charting.issue("e3")
    charting.record(20, Returned(), "e3")
    with charting.store.write() as session:
        change = note_ward_change(session, CHARGE, "w1", TUESDAY, "new round", now=at(0))
        note_ward_change(session, CHARGE, "w1", date(2026, 4, 1), "later", now=at(0))

    found = review(charting)

    assert found.asked == Asked(MARCH, By.WEEK)
    assert [(one.ward.id, one.tallies) for one in found.wards] == [("w1", found.tallies)]
    assert found.tallies[START] == Tally(met=1, late=1)
    assert found.before[START] == Tally()
    assert found.lateness[START] == Lateness(1, 10, 10, 10)
    assert found.to_start.whole == kaplan_meier([Ended(10, 1), Ended(20, 0, 1), Ended(40, 1)])
    assert [*found.to_start.by_component] == [
        Component.RED_CELLS,
        Component.PLATELETS,
        Component.PLASMA,
    ]
    assert found.to_end.whole == kaplan_meier([Ended(20, 0, 1), Ended(100, 1), Ended(600, 0, 1)])
    assert [hour for hour, curve in enumerate(found.to_end.by_hour) if curve.total] == [10]
    assert (found.routine, found.started) == (Share(0, 2), Share(0, 2))
    assert found.night_hours == {*range(20, 24), *range(8)}
    assert found.figures.reassessed == Tally(met=1)
    assert set(found.fated) == {
        Fated(Fate.TRANSFUSED, started=True, units=1),
        Fated(None, started=True, units=1),
        Fated(Fate.RETURNED, started=False, units=1),
    }
    assert (found.changes, found.names) == ((change,), {CHARGE.id: CHARGE.name})


def test_parts_are_the_weeks_of_the_days_asked_for(charting: Charting) -> None:
    charting.run("e1", "p1")

    parts = review(charting).parts

    edges = [(1, 1), (2, 8), (9, 15), (16, 22), (23, 29), (30, 31)]
    assert [(one.days.first.day, one.days.last.day) for one in parts] == edges
    assert [one.tallies[START].met for one in parts] == [0, 1, 0, 0, 0, 0]
    assert [one.to_start.events for one in parts] == [0, 1, 0, 0, 0, 0]
    assert [one.routine.of for one in parts] == [0, 1, 0, 0, 0, 0]


def test_a_start_at_night_and_what_was_kept_of_it_are_counted_apart(charting: Charting) -> None:
    """The night of the policy is from 20:00; the base is 10:00 in London."""
    charting.run("e1", "p1")
    charting.open("e2", "p2")
    charting.issue("e2", minute=640)
    charting.start("e2", minute=650)
    charting.record(700, Completed(), "e2")
    charting.record(750, Completed(), "e1")

    found = review(charting, 760)

    assert (found.routine, found.parts[1].routine) == (Share(1, 2), Share(1, 2))
    assert (found.tallies[ClockName.FINISH], found.figures.at_night) == (
        Tally(met=1, late=1),
        {ClockName.FINISH: Tally(met=1), ClockName.END_CHECK: Tally()},
    )


def test_the_days_before_are_counted_as_many(charting: Charting) -> None:
    charting.run("e1", "p1")
    after = Days(TUESDAY + DAY, TUESDAY + DAY)

    found = review(charting, days=after, by=By.DAY)

    assert (found.tallies[START], found.before[START]) == (Tally(), Tally(met=1))


def test_all_wards_together_are_the_sum_of_each_by_its_own_calendar(charting: Charting) -> None:
    """At 14:00 on Tuesday it is Wednesday in Auckland."""
    charting.run("e1", "p1")
    charting.open("e9", "p9", ward_id="w2")
    charting.record(240, Issued(), "e9", actor=PROGRAM)

    found = review(
        charting, 300, None, days=Days(TUESDAY, TUESDAY + DAY), by=By.DAY, actor=ADMINISTRATOR
    )

    assert [(one.ward.id, one.tallies[START]) for one in found.wards] == [
        ("w1", Tally(met=1)),
        ("w2", Tally(missed=1)),
    ]
    assert found.tallies[START] == Tally(met=1, missed=1)
    assert [one.tallies[START] for one in found.parts] == [Tally(met=1), Tally(missed=1)]
    assert [one.ward.id for one in review(charting, 300, None).wards] == ["w1"]


def test_a_simulated_week_adds_up(sqlite_wards: Path, tmp_path: Path) -> None:
    with fresh_stores(sqlite_wards, tmp_path / "week.db") as (store,):
        charting = Charting(store)
        for _ in Week(charting, seed=9, minutes=45):
            pass
        minute = (END - BASE).total_seconds() / 60
        whole, *apart = (
            review(charting, minute, component=component, by=By.DAY)
            for component in (None, *Component)
        )

    for clock, tally in whole.tallies.items():
        assert sum((one.tallies[clock] for one in whole.parts), Tally()) == tally
        assert sum((one.tallies[clock] for one in apart), Tally()) == tally
    assert sum(one.to_start.events for one in whole.parts) == whole.to_start.whole.events
    assert sum(one.started.of for one in apart) == whole.started.of > 0
    assert sum(one.units for one in whole.fated) == whole.to_start.whole.total > 0
    assert whole.to_end.whole.total == whole.to_start.whole.total


@pytest.mark.parametrize(
    ("days", "by", "field"),
    [
        (Days(TUESDAY, TUESDAY - DAY), By.DAY, "to"),
        (Days(TUESDAY, TUESDAY + 1_830 * DAY), By.MONTH, "to"),
        (Days(TUESDAY, TUESDAY + 400 * DAY), By.DAY, "by"),
    ],
)
def test_days_that_cannot_be_told_are_refused(
    charting: Charting, days: Days, by: By, field: str
) -> None:
    with pytest.raises(Invalid) as refused:
        review(charting, days=days, by=by)

    assert refused.value.field == field


def test_nobody_reads_the_review_of_another_ward(charting: Charting) -> None:
    with pytest.raises(Forbidden, match="not one of your wards"):
        review(charting, actor=OUTSIDER)
    with pytest.raises(NotFound):
        review(charting, ward_id="w7")


def test_who_is_on_no_ward_has_an_empty_review(charting: Charting) -> None:
    nobody = Actor("x", "X", MANAGER.role, frozenset())

    found = review(charting, ward_id=None, actor=nobody)

    assert (found.wards, found.parts, found.fated) == ((), (), ())
    assert found.tallies[START] == Tally()
