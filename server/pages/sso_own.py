"""Link the own account of single sign-on to oneself, and undo it."""

from typing import Final

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from server.pages.answers import PageRoute
from server.pages.forms.entry import Wrong
from server.pages.links import MY_SIGN_IN
from server.pages.own_sign_in import NAME, own_page
from server.pages.recognising import require_again
from server.pages.refusals import FORM, NOT_OURS
from server.pages.setup_screen import Screen
from server.pages.sso import go_from, not_linked, require_provider
from server.pages.visitors import FormNotOurs, See, Typed, require_token, signed_in_of
from server.services.sso_begun import TooManyBegun
from server.services.sso_links import undo_own_link
from server.services.sso_refusals import ProviderAway

router = APIRouter(route_class=PageRoute, include_in_schema=False)

OF_FORM: Final = "a"


@router.post(f"{MY_SIGN_IN}/account")
async def link(request: Request, visitor: See, typed: Typed) -> Response:
    """On to the provider, to come back with the account; who it is here is asked for again."""
    provider = require_provider(request)
    try:
        require_token(typed, visitor.secret)
        await run_in_threadpool(require_again, request, visitor.actor, typed)
        return await go_from(request, provider, MY_SIGN_IN, visitor.actor.id)
    except FormNotOurs:
        wrong = Wrong({FORM: NOT_OURS}, status=403)
    except Wrong as refused:
        wrong = refused
    except (ProviderAway, TooManyBegun) as refusal:
        return not_linked(request, provider, refusal)
    return await run_in_threadpool(own_page, request, visitor, wrong=wrong, form=OF_FORM)


@router.post(f"{MY_SIGN_IN}/account/undo")
def undo(request: Request, visitor: See, typed: Typed) -> Response:
    """Have the own account open nothing from now on."""
    screen = Screen(request, visitor, NAME)

    def act() -> str:
        with screen.store.write() as session:
            undo_own_link(session, visitor.actor, now=screen.now)
        signed_in_of(request.app).forget_all()
        return f"{MY_SIGN_IN}?done=undone"

    return screen.try_form(typed, act, lambda wrong: own_page(request, visitor, wrong=wrong))
