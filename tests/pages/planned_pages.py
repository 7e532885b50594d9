"""A ward with a plan, for the tests of its pages."""

from typing import Final

from server.store.plans import plan_in_force
from tests.domain.builders import at
from tests.pages.hospital import Hospital, Visit
from tests.services.people import CHARGE
from tests.services.planned_ward import fill_ward, keep_list_plan

PAGE: Final = "/wards/w1/plan"


def planned(hospital: Hospital, plan_id: str = "a") -> Hospital:
    """Two nurses, a unit that runs, two that wait, and a plan of the list rule at 10:30."""
    fill_ward(hospital.charting)
    hospital.clock.now = at(30)
    keep_list_plan(hospital.store, plan_id, at(30))
    return hospital


def accepted(hospital: Hospital) -> Visit:
    """The charge nurse after accepting it."""
    charge = planned(hospital).visit(CHARGE)
    assert charge.done(f"{PAGE}?version=a", "accept") == PAGE
    return charge


def in_force(hospital: Hospital) -> str | None:
    """The id of the plan in force."""
    with hospital.store.read() as session:
        plan = plan_in_force(session, "w1", hospital.clock.now)
    return None if plan is None else plan.id


def version_of(href: str) -> str:
    """The version that an address names."""
    return href.partition("version=")[2].partition("&")[0]
