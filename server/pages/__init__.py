"""HTML: one file a screen with its routes, over pure functions that make ready what is shown."""

from typing import Final

from fastapi import APIRouter

from server.pages import board, episode, sign_in

SCREENS: Final = (board, sign_in, episode)


def _router() -> APIRouter:
    router = APIRouter(include_in_schema=False)
    for screen in SCREENS:
        router.include_router(screen.router)
    return router


router: Final = _router()
