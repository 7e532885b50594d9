"""Special requirements in the form of an order: ticked, written, refused, shown again."""

from server.domain.words import Component
from server.services.open_order import list_orders
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import CHARGE, PROGRAM

NEW = "/wards/w1/orders/new?patient=p1"
ORDER: dict[str, str | list[str]] = {
    "bed": "4",
    "component": Component.RED_CELLS.value,
    "requirements": ["irradiated", "cmv_negative"],
    "other_requirements": "through a blood warmer, slowly",
}


def orders(hospital: Hospital) -> list[tuple[str, ...]]:
    """The requirements of each order that was placed."""
    with hospital.store.read() as session:
        return [one.order.requirements for one in list_orders(session, PROGRAM, "w1")]


def test_ticked_and_written_requirements_are_kept_and_shown_again(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)

    charge.done(NEW, "/wards/w1/orders", **ORDER)
    with hospital.store.read() as session:
        (ordered,) = list_orders(session, PROGRAM, "w1")
    href = f"/wards/w1/orders/{ordered.order.id}/change"
    form = charge.see(href).form(href)

    assert orders(hospital) == [("irradiated", "cmv_negative", "through a blood warmer", "slowly")]
    assert form.values["requirements"] == ["irradiated", "cmv_negative"]
    assert form.values["other_requirements"] == ["through a blood warmer, slowly"]


def test_a_slip_of_the_finger_is_refused_and_nothing_typed_is_lost(hospital: Hospital) -> None:
    slip = ORDER | {"other_requirements": "iradiated, slowly"}

    answer = hospital.visit(CHARGE).send(NEW, "/wards/w1/orders", **slip)

    page = Page(answer.text)
    assert (answer.status_code, page.errors, orders(hospital)) == (
        422,
        {"f-requirements": "“iradiated” is unknown; expected irradiated"},
        [],
    )
    assert page.form("/wards/w1/orders").values["other_requirements"] == ["iradiated, slowly"]


def test_a_choice_that_is_none_is_refused(hospital: Hospital) -> None:
    answer = hospital.visit(CHARGE).send(
        NEW, "/wards/w1/orders", **(ORDER | {"requirements": ["warm"]})
    )

    assert (answer.status_code, Page(answer.text).errors) == (
        422,
        {"f-requirements": "is none of the choices"},
    )
