"""Asking for a proposal, and what if: with scripts watched while it is made, without awaited."""

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain.plan.plan import NOTHING_SUPPOSED
from server.domain.plan.suppose import Suppositions
from server.pages.answers import PageRoute, attempt, done
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import plan_href
from server.pages.plan import PATH
from server.pages.plans.plan_page import NAME, SECONDS, VERSION, plan_page
from server.pages.plans.progress import progress_view
from server.pages.plans.supposing import suppositions_of
from server.pages.refusals import FORM, REFUSALS, wrong_of
from server.pages.rendering import page, wants_part
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.services.accept_plan import plan_of
from server.services.errors import NotFound
from server.services.keep_plan import keep_plan
from server.services.make_plan import PlanAsk, Watching, make_plan
from server.services.permissions import Act, require
from server.services.plan_runs import PlanRuns, Run
from server.services.planning_ground import Asked
from server.services.shown import shows_no_patient
from server.store.ids import new_id

router = APIRouter(route_class=PageRoute, include_in_schema=False)

ELSEWHERE: Final = (
    "This proposal is made by another process of the board, or was given up when that ended. It "
    "cannot be stopped from here. What comes of it stands below, under “Proposed, not decided”."
)

RunId = Annotated[str, Query(alias="run", max_length=200)]


@router.post(f"{PATH}/ask")
def ask(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Ask for a proposal; of a supposed version it supposes the same."""
    screen = Screen(request, visitor, NAME, ward_id)
    return _asked(screen, typed, lambda: _supposed_of(screen, typed.raw(VERSION)))


@router.post(f"{PATH}/suppose")
def suppose(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Ask what a plan would be if; nothing is recorded of it."""
    screen = Screen(request, visitor, NAME, ward_id)
    return _asked(screen, typed, lambda: suppositions_of(typed, screen.setting().zone, screen.now))


@router.get(f"{PATH}/run")
@shows_no_patient
def see_run(request: Request, visitor: See, ward_id: str, run_id: RunId) -> Response:
    """How far a proposal has come, alone; when it is made, on to it.

    Only the process that makes it knows; another says so, and where it will stand.
    """
    require(visitor.actor, Act.PLAN_UNITS, ward_id)
    screen = Screen(request, visitor, NAME, ward_id)
    run = _found(screen, run_id)
    if run is None:
        return page("plan/elsewhere.html", href=plan_href(screen.setting().ward_id or ""))
    return _shown(screen, run)


@router.post(f"{PATH}/stop")
def stop(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Stop a proposal in the making: the best so far is taken."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> Response:
        require(visitor.actor, Act.PLAN_UNITS, ward_id)
        run = _found(screen, typed.raw("run"))
        if run is None:
            raise Wrong({FORM: ELSEWHERE}, status=409)
        run.stopping.set()
        return _shown(screen, run) if wants_part(request) else done(plan_href(ward_id))

    return attempt(visitor, typed, act, lambda wrong: _again(screen, typed, wrong))


def _found(screen: Screen, run_id: str) -> Run | None:
    """A proposal in the making, None where this process knows of none such."""
    runs: PlanRuns = screen.request.app.state.plan_runs
    try:
        return runs.look(run_id, screen.ward_id or "")
    except NotFound:
        return None


def _asked(screen: Screen, typed: Entry, supposed: object) -> Response:
    def act() -> Response:
        require(screen.visitor.actor, Act.PLAN_UNITS, screen.ward_id)
        seconds = typed.choice("seconds", [value for value, _ in SECONDS], required=True)
        wanted: Suppositions = supposed()  # type: ignore[operator]
        typed.check()
        run = _begun(screen, typed.raw(VERSION) or None, float(seconds or 0), wanted)
        if wants_part(screen.request):
            return _shown(screen, run)
        return done(plan_href(run.ward_id, run.made.result()))

    return attempt(screen.visitor, typed, act, lambda wrong: _again(screen, typed, wrong))


def _begun(screen: Screen, parent_id: str | None, seconds: float, supposed: Suppositions) -> Run:
    """Have the proposal made in a thread of its own; the one asked for keeps to the wishes."""
    actor, now, store = screen.visitor.actor, screen.now, screen.store
    ward_id = screen.ward_id or ""
    wanted = PlanAsk(ward_id, Asked(supposed=supposed), seconds, parent_id)

    def make(run: Run) -> str:
        watching = Watching(run.tell, run.stopping)
        plan = make_plan(store, actor, wanted, now=now, watching=watching)
        with store.write() as session:
            return keep_plan(session, actor, plan).id

    run = Run(new_id(), ward_id, actor.id, seconds, now)
    screen.request.app.state.plan_runs.begin(run, make)
    return run


def _supposed_of(screen: Screen, version: str) -> Suppositions:
    if not version:
        return NOTHING_SUPPOSED
    with screen.store.read() as session:
        return plan_of(session, screen.visitor.actor, version).supposed


def _shown(screen: Screen, run: Run) -> Response:
    """The state of a run in its place on the page; made: the page goes on to it."""
    if not run.is_done:
        view = progress_view(run, screen.now, screen.visitor.csrf_token)
        return page("plan/progress.html", run=view)
    failure = run.made.exception()
    if failure is None:
        answer = page("plan/made.html", href=plan_href(run.ward_id, run.made.result()))
        answer.headers["HX-Redirect"] = plan_href(run.ward_id, run.made.result())
        return answer
    if not isinstance(failure, REFUSALS):
        raise failure
    why = "; ".join(wrong_of(failure).errors.values())
    return page("plan/made.html", href="", why=why)


def _again(screen: Screen, typed: Entry, wrong: Wrong) -> Response:
    answer = plan_page(screen, typed, version=typed.raw(VERSION), unit="", wrong=wrong)
    if wants_part(screen.request):
        answer.headers["HX-Retarget"] = "#plan"
        answer.headers["HX-Reswap"] = "outerMorph"
    return answer
