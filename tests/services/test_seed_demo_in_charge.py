"""What the charge nurse decides and what is ordered, from pictures alone."""

from datetime import timedelta

from seed_demo.actors.ordering import MOST_WAITING, next_order
from seed_demo.actors.plan import plan
from seed_demo.actors.scene import Deed
from seed_demo.bags import handed_over
from seed_demo.rota import BEFORE, LENGTH
from seed_demo.staff import EARLY, LATE
from server.domain.payloads import Assigned, Available, Issued, Received, Returned
from server.domain.words import Component
from tests.domain.builders import BASE, FULL, PATIENT, case, running
from tests.services.demo_scenes import HER, at, deeds, hers, of_patient, scene


def test_the_next_unit_is_given_to_somebody_and_then_handed_over() -> None:
    ready = case((-30, Available()))
    given = case((-30, Available()), (-5, HER))

    (first,), (second,) = (plan(scene(unit, now=0)) for unit in (ready, given))

    assert (first.by, type(first.payload)) == ("marlow", Assigned)
    assert (second.by, type(second.payload)) == ("blood-bank", Issued)


def test_two_first_quarters_of_an_hour_never_fall_on_the_same_nurse() -> None:
    starting = running((9, HER))
    waiting = of_patient(case((-30, Available()), (-5, HER), id="episode-2"), "patient-2")

    (deed,) = plan(scene(starting, waiting, now=12))

    assert isinstance(deed.payload, Assigned)
    assert deed.payload.nurse_id != "brandao"


def test_the_second_unit_of_a_patient_waits_for_the_first() -> None:
    first = running((9, HER), order_id="order-1", n=1, units=2)
    second = case((-30, Available()), id="episode-2", order_id="order-1", n=2, units=2)

    assert deeds(first, second, now=12) == []


def test_a_unit_is_not_called_for_too_early() -> None:
    early = case((-30, Available()), not_before=at(10))

    assert (deeds(early, now=9), deeds(early, now=10)) == ([], [("marlow", Assigned)])


def test_the_laboratory_makes_a_unit_ready() -> None:
    assert deeds(case(), now=0) == [("blood-bank", Available)]


def test_a_unit_of_the_shift_before_goes_to_whoever_has_come_on() -> None:
    unit = running((25, FULL), (9, HER))
    began = BASE + BEFORE - LENGTH + timedelta(minutes=12)  # the late team comes on at 12

    (deed,) = plan(scene(unit, now=26, began=began))

    assert deed == Deed("episode-1", "patient-1", "tarrant", Assigned(LATE.nurses[4].id))
    assert EARLY.nurses[4].id == "brandao"


def test_a_unit_that_nobody_has_goes_to_whoever_has_fewest() -> None:
    nobodys = case((0, Issued()))

    assert deeds(nobodys, now=30) == []
    assert deeds(nobodys, now=50) == [("marlow", Assigned)]


def test_orders_come_while_little_waits_and_stop_when_much_does() -> None:
    waiting = [
        of_patient(case(id=f"episode-{n}", bed=f"{n}"), f"p{n}") for n in range(MOST_WAITING)
    ]

    few, many = next_order(scene(*waiting[:2], now=0)), next_order(scene(*waiting, now=0))

    assert few is not None
    assert few.order.bed not in {"0", "1"}
    assert many is None


def test_an_order_may_be_for_somebody_who_lies_there_already() -> None:
    done = [
        of_patient(case((-200, Issued()), (-190, Returned()), id=f"e{n}", bed=f"{n}"), f"p{n}")
        for n in range(1, 25)
    ]

    orders = [next_order(scene(*done, now=minute)) for minute in range(20)]

    known = [one.order for one in orders if one is not None and one.patient is None]
    assert {order.patient_id == f"p{order.bed}" for order in known} == {True}


def test_no_order_comes_when_every_bed_is_taken() -> None:
    beds = [of_patient(running(id=f"e{n}", bed=f"{n}"), f"p{n}") for n in range(1, 25)]

    assert next_order(scene(*beds, now=12)) is None


def test_a_label_says_the_same_for_the_same_unit() -> None:
    removed = at(-3)

    one, again = (
        handed_over(1, "episode-1", Component.PLATELETS, PATIENT, removed) for _ in range(2)
    )

    assert one == again
    assert (one.unit_number or "")[:7] == "A999026"


def test_who_does_what_does_not_hang_on_how_often_it_is_asked() -> None:
    asked = scene(hers((5, Received())), running((9, HER), id="episode-2"), now=12)

    assert plan(asked) == plan(asked)
