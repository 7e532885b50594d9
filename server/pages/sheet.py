"""The paper sheet of a ward as a page to print, also while the database is away."""

from fastapi import APIRouter, Request, Response

from server.domain.audit import SubjectKind
from server.pages.answers import PageRoute
from server.pages.boards.kept import kept_boards
from server.pages.rendering import page
from server.pages.sheets.sheet_view import sheet_view
from server.pages.visitors import Looking, now_of
from server.pages.ward_setting import head_of
from server.services.permissions import Act, require
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)


@router.get("/wards/{ward_id}/sheet")
@shows(SubjectKind.SHEET, ward="ward_id")
def see_sheet(request: Request, looking: Looking, ward_id: str) -> Response:
    """Every live unit of the ward with its limits, what is owed when, and boxes to write in."""
    require(looking.actor, Act.READ, ward_id)
    boards, now = kept_boards(request.app), now_of(request)
    known = boards.last_known.ward(ward_id, now)
    setting = boards.last_setting(looking.actor, known.board.ward)
    return page(
        "sheet/sheet.html",
        head=head_of(looking, setting, now, ""),
        sheet=sheet_view(known.board, known.known_at, away=known.away),
    )
