"""The state of the program, for administrators: what holds, what does not, who runs."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server import __version__
from server.domain.invariants import Patience
from server.logs.lines import PROCESS
from server.pages.answers import PageRoute
from server.pages.program_view import Here, program_view
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.services.read_invariants import read_program_state
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "program"


@router.get("/program")
@shows_no_patient
def see_program(request: Request, visitor: See) -> Response:
    """Every invariant as it was looked at last, the processes, their jobs, and what was wrong."""
    screen = Screen(request, visitor, NAME)
    patience = Patience(request.app.state.settings.stale_after)
    with screen.store.read() as session:
        state = read_program_state(session, visitor.actor, now=screen.now, patience=patience)
    setting = screen.setting()
    return page(
        "program/program.html",
        head=screen.head_of_all(setting),
        program=program_view(state, setting.zone, Here(PROCESS, __version__)),
    )
