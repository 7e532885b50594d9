"""The compatibility table as it is loaded: for whoever signs it, and for everybody who asks why."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.compatibility import AUTHORITY
from server.domain.site import Site
from server.domain.unit_check import signed_words
from server.pages.answers import PageRoute
from server.pages.compatibility_table import table_view
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "policies"


@router.get("/compatibility")
@shows_no_patient
def see_compatibility(request: Request, visitor: See) -> Response:
    """Which unit suits which patient, component by component, and who has signed that."""
    screen = Screen(request, visitor, NAME)
    site: Site = request.app.state.store.site
    table = site.compatibility
    return page(
        "compatibility/compatibility.html",
        head=screen.head(screen.setting()),
        table=None if table is None else table_view(table),
        signed=signed_words(site),
        authority=AUTHORITY,
    )
