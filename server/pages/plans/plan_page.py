"""The page of a plan as an answer: the same for a look and for a form that was refused."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import Response

from server.domain.wording import dated_time
from server.pages.boards.replay import asked_instant
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.views import FieldView, form_errors
from server.pages.links import plan_href, ward_href
from server.pages.plans.changing import forbidden_fields, place_fields
from server.pages.plans.plan_view import plan_view
from server.pages.plans.progress import ProgressView, progress_view
from server.pages.plans.supposing import supposing_fields
from server.pages.rendering import page, wants_part
from server.pages.setup_screen import Screen
from server.services.make_plan import is_searched
from server.services.permissions import Act, may
from server.services.plan_runs import PlanRuns
from server.services.read_plan import PlanLook, look_at_plan

NAME: Final = "plan"
VERSION: Final = "version"
SECONDS: Final = (("2", "2 s"), ("5", "5 s"), ("10", "10 s"))
USUAL: Final = "5"


@dataclass(frozen=True, slots=True)
class Forms:
    """What whoever plans may do on the page; the others see none of it.

    `place` and `not_then` are the fields of the unit whose form is open. `searches`: the best plan
    can be searched for. `run` is a proposal that is in the making.
    """

    version: str
    place: tuple[FieldView, ...]
    not_then: tuple[FieldView, ...]
    supposing: tuple[tuple[str, tuple[FieldView, ...]], ...]
    supposed_open: bool
    seconds: str
    searches: bool
    run: ProgressView | None
    csrf_token: str


def plan_page(
    screen: Screen, typed: Entry, *, version: str, unit: str, wrong: Wrong | None = None
) -> Response:
    """Answer the page of a version, by default the one in force. Raises `NotFound`, `Forbidden`."""
    setting, ward_id = screen.setting(), screen.ward_id or ""
    at = _instant(typed, setting.zone, screen.now)
    with screen.store.read() as session:
        look = look_at_plan(
            session, screen.visitor.actor, ward_id, version or None, now=screen.now, at=at
        )
    plans = at is None and may(screen.visitor.actor, Act.PLAN_UNITS, ward_id)
    at_text = "" if at is None else dated_time(at, setting.zone, screen.now)
    is_ahead = at is not None and at > screen.now
    return page(
        "plan/body.html" if wants_part(screen.request) else "plan/plan.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        plan=plan_view(look, selected=unit if plans and look.plan else "", at_text=at_text),
        is_ahead=is_ahead,
        forms=_forms(screen, look, typed, unit) if plans else None,
        errors=form_errors(typed, wrong.errors) if wrong else {},
        seconds=SECONDS,
        here=plan_href(ward_id),
        changes_href=ward_href(ward_id, "changes"),
        day_href=ward_href(ward_id, "plan/day"),
        enters=may(screen.visitor.actor, Act.PLAN_STAFF, ward_id),
    )


def _instant(typed: Entry, zone: ZoneInfo, now: datetime) -> datetime | None:
    """The instant that is looked at, by the address or as typed; None: now."""
    asked = asked_instant("at", {"at": typed.raw("at")})
    if asked is None and typed.raw("look_time").strip():
        asked = typed.instant("look", zone, day=f"{now.astimezone(zone):%Y-%m-%d}")
        typed.check()
    return asked


def _forms(screen: Screen, look: PlanLook, typed: Entry, unit: str) -> Forms:
    ground, plan = look.ground, look.plan
    runs: PlanRuns = screen.request.app.state.plan_runs
    run = runs.of_ward(ground.ward.id)
    token = screen.visitor.csrf_token
    waits = any(one.episode_id == unit for one in ground.problem.units)
    is_open = plan is not None and waits
    supposes = "more_bed" in typed  # whose seconds are its own
    return Forms(
        version="" if plan is None else plan.id,
        place=place_fields(ground, plan, unit, typed) if plan and is_open else (),
        not_then=forbidden_fields(ground, typed) if is_open else (),
        supposing=supposing_fields(ground, typed),
        supposed_open=supposes,
        seconds=USUAL if supposes else typed.raw("seconds") or USUAL,
        searches=is_searched(),
        run=None if run is None else progress_view(run, screen.now, token),
        csrf_token=token,
    )
