"""How far a proposal has come that is in the making."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.pages.links import plan_href, ward_href
from server.pages.plans.worth_view import level_text
from server.services.plan_runs import Run

BEGINS: Final = "Looking at what is possible"


@dataclass(frozen=True, slots=True)
class ProgressView:
    """One run. `used` seconds of `asked`; `bound` is empty while none is known."""

    href: str
    page_href: str
    stop_href: str
    run_id: str
    used: str
    asked: str
    best: str
    bound: str
    stopping: bool
    csrf_token: str


def progress_view(run: Run, now: datetime, csrf_token: str) -> ProgressView:
    """Answer how far a run has come."""
    told = run.progress
    waited = 0.0 if run.begun_at is None else (now - run.begun_at).total_seconds()
    used = min(run.seconds, max(waited, 0.0 if told is None else told.seconds))
    return ProgressView(
        href=ward_href(run.ward_id, "plan/run", run=run.id),
        page_href=plan_href(run.ward_id),
        stop_href=ward_href(run.ward_id, "plan/stop"),
        run_id=run.id,
        used=f"{used:.1f}",
        asked=f"{run.seconds:g}",
        best=BEGINS if told is None else level_text(told.level, told.worth),
        bound="" if told is None else level_text(told.level, told.bound),
        stopping=run.stopping.is_set(),
        csrf_token=csrf_token,
    )
