"""A proposal asked for, watched and stopped; and what if."""

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.domain.plan.proposal import Progress
from server.services.errors import Conflict
from server.services.plan_runs import Run
from server.store.plans import read_plan
from tests.domain.builders import at
from tests.pages.hospital import PART, Hospital, Visit
from tests.pages.planned_pages import PAGE, accepted, in_force, version_of
from tests.pages.reading import Page
from tests.services.people import NURSE


def in_the_making(hospital: Hospital, run_id: str, make: Callable[[Run], str]) -> Run:
    run = Run(run_id, "w1", "charge-1", 2.0, at(30))
    hospital.app.state.plan_runs.begin(run, make)
    return run


def until_stopped(run: Run) -> str:
    assert run.stopping.wait(20)
    return "a"


def test_a_proposal_is_awaited_without_scripts_and_is_a_version(hospital: Hospital) -> None:
    charge = accepted(hospital)

    href = charge.done(PAGE, "ask", seconds="2")

    with hospital.store.read() as session:
        plan = read_plan(session, version_of(href))
    assert plan is not None
    assert (plan.parent_id, plan.made_by, plan.accepted_at) == ("a", "charge-1", None)
    assert {one.episode_id for one in plan.proposal.starts} == {"waits", "next"}
    assert "accept" in {form.key for form in charge.see(href).forms}


def test_a_proposal_is_watched_with_scripts_stopped_and_gone_on_to(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(PAGE).form("ask")
    run = in_the_making(hospital, "watched", until_stopped)
    run.tell(Progress("urgent_late", 90, 30, 1.2))
    hospital.clock.now = at(30.025)

    page = charge.see(PAGE)
    refused = charge.post(form.action, form.filled({"seconds": "2"}), **PART)

    said = "1.5 of at most 2 s 1.5 s Best so far urgent and late 1 h 30"
    assert f"{said} No plan can beat urgent and late 30 min" in page.text
    assert "ask" not in {one.key for one in page.forms}
    assert (refused.status_code, refused.headers["hx-retarget"]) == (409, "#plan")
    assert "a plan of this ward is being made" in refused.text
    stop = page.form("stop").filled({})
    assert charge.post(f"{PAGE}/stop", stop, **PART).status_code == 200
    assert run.made.result(timeout=90) == "a"
    done = charge.get(f"{PAGE}/run?run=watched", **PART)
    assert done.headers["hx-redirect"] == f"{PAGE}?version=a"
    assert charge.post(f"{PAGE}/stop", stop).headers["location"] == PAGE
    assert hospital.visit(NURSE).get(f"{PAGE}/run?run=watched", **PART).status_code == 403


def test_another_process_says_that_it_is_made_elsewhere_and_shows_what_came_of_it(
    hospital: Hospital,
) -> None:
    charge = accepted(hospital)
    href = charge.done(PAGE, "ask", seconds="2")
    run = in_the_making(hospital, "watched", until_stopped)
    stop = charge.see(PAGE).form("stop").filled({})
    app = create_app(hospital.app.state.settings, run_jobs=False, clock=hospital.clock)

    with TestClient(app) as client:
        other = Visit(client)
        client.cookies.update(charge.client.cookies)
        look = other.get(f"{PAGE}/run?run=watched", **PART)
        page = other.see(PAGE)
        part, whole = (other.post(f"{PAGE}/stop", stop, **sent) for sent in (PART, {}))
    run.stopping.set()

    assert look.status_code == 200
    assert "it is made by another process of the board" in look.text
    assert "every 500ms" not in look.text
    assert f"{PAGE}?version={version_of(href)}" in page.links
    for refused in (part, whole):
        assert refused.status_code == 409
        assert "It cannot be stopped from here" in refused.text


def test_a_proposal_by_scripts_is_begun_and_made(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(PAGE).form("ask")

    begun = charge.post(form.action, form.filled({"seconds": "2"}), **PART)

    run_id = begun.text.partition("run?run=")[2].partition('"')[0]
    href = begun.headers.get("hx-redirect", "")
    if run_id:
        run = hospital.app.state.plan_runs.look(run_id, "w1")
        href = f"{PAGE}?version={run.made.result(timeout=90)}"
    assert "Proposed plan" in charge.see(href).text


def test_a_proposal_that_fails_says_why_and_a_fault_is_a_fault(hospital: Hospital) -> None:
    def refused(_: Run) -> str:
        raise Conflict("the ward has no policy")

    def broken(_: Run) -> str:
        raise RuntimeError("not foreseen")

    charge = accepted(hospital)
    in_the_making(hospital, "refused", refused).made.exception(timeout=90)
    in_the_making(hospital, "broken", broken).made.exception(timeout=90)

    said = charge.get(f"{PAGE}/run?run=refused", **PART)
    fault = charge.get(f"{PAGE}/run?run=broken", **PART)

    assert (said.status_code, "the ward has no policy" in said.text) == (200, True)
    assert (fault.status_code, "not foreseen" in fault.text) == (500, False)


def test_a_unit_without_a_place_says_what_is_in_its_way_and_what_would_let_it_in(
    hospital: Hospital,
) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    whole = {
        "forbidden_from_time": "10:00", "forbidden_from_date": "2026-03-03",
        "forbidden_until_time": "20:00", "forbidden_until_date": "2026-03-03", "do": "forbid",
    }  # fmt: skip
    wished = charge.post(form.action, {**form.filled({}), **whole}).headers["location"]

    page = charge.see(charge.done(wished, "ask", seconds="2"))

    assert "No start: not wanted" in page.text
    assert "What would let it in:" in page.text


def test_what_if_is_a_supposed_version_that_cannot_be_accepted(hospital: Hospital) -> None:
    charge = accepted(hospital)
    supposed = {
        "leaves_id": "nurse-2", "leaves_at_time": "14:00",
        "more_bed": "7", "more_count": "2", "more_component": "platelets",
        "moves_bed": "5", "moves_at_time": "13:00",
    }  # fmt: skip

    href = charge.done(PAGE, "suppose", **supposed)
    page = charge.see(href)

    assert "Supposed, nothing is recorded." in page.text
    assert "Cleo Colleague leaves at 14:00" in page.text
    assert "2 units more for bed 7: platelets, routine, from 10:30" in page.text
    assert "Bed 5 moves away at 13:00" in page.text
    assert "Bed 7 Platelets, unit 1 of 2" in page.text
    assert "accept" not in {form.key for form in page.forms}
    taken = charge.done(href, "take-over")
    assert "Supposed, nothing is recorded." not in charge.see(taken).text
    assert "Taken over from a supposed plan" in charge.see(taken).text
    assert "Bed 7" not in charge.see(taken).text
    assert "accept" in {form.key for form in charge.see(taken).forms}
    again = charge.done(href, "ask", seconds="2")
    assert "Supposed, nothing is recorded." in charge.see(again).text
    token = page.form("ask").values["csrf_token"]
    forced = charge.post(f"{PAGE}/accept", {"csrf_token": token, "version": version_of(href)})
    assert (forced.status_code, in_force(hospital)) == (409, "a")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({}, "Nothing is supposed"),
        ({"leaves_id": "nurse-2"}, "no time was entered"),
        ({"moves_bed": "5", "moves_at_time": "99"}, "expected a time"),
        ({"more_bed": "7", "more_count": "11"}, "is 11; expected from 1 to 10"),
        ({"more_bed": "7", "more_volume_ml": "0"}, "is 0; expected up to 1000 mL"),
    ],
)
def test_a_supposition_that_makes_no_sense_is_refused_by_its_field(
    hospital: Hospital, typed: dict[str, str | list[str]], why: str
) -> None:
    answer = accepted(hospital).send(PAGE, "suppose", **typed)

    assert answer.status_code == 422
    assert why in answer.text
    assert "<details" in answer.text.partition("what-if")[0][-60:]
    assert Page(answer.text).form("ask").values["seconds"] == ["5"]
    assert Page(answer.text).form("suppose").values["more_bed"] == [typed.get("more_bed", "")]
