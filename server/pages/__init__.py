"""HTML: one file a screen with its routes, over pure functions that make ready what is shown."""

from typing import Final

from fastapi import APIRouter

from server.pages import (
    board,
    breaches,
    cover,
    episode,
    handing,
    identity,
    labels,
    mine,
    orders,
    patients,
    policies,
    reaction,
    reminders,
    shifts,
    sign_in,
    staff,
    wall,
    wall_links,
    wards,
)

SCREENS: Final = (
    board,
    wall,
    mine,
    handing,
    cover,
    episode,
    identity,
    reaction,
    sign_in,
    reminders,
    breaches,
    labels,
    orders,
    patients,
    staff,
    shifts,
    wards,
    policies,
    wall_links,
)


def _router() -> APIRouter:
    router = APIRouter(include_in_schema=False)
    for screen in SCREENS:
        router.include_router(screen.router)
    return router


router: Final = _router()
