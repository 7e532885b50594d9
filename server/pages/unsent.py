"""What somebody typed on a page and did not store, for the scripts of the pages: theirs alone."""

import json
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse

from server.domain.errors import Invalid
from server.pages.answers import PageRoute
from server.pages.links import local_path
from server.pages.page_head import iso
from server.pages.visitors import See, SignInNeeded, Typed, held, now_of, require_token
from server.services.keep_unsent import (
    TypedField,
    TypedForm,
    drop_unsent,
    keep_unsent,
    list_unsent,
)
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

KEPT: Final = {"Cache-Control": "no-store"}
SHAPE: Final = "expected a list of forms, each [id, action, title, [[name, value, label], …]]"
PARTS: Final = (4, 3)
Path = Annotated[str, Query(max_length=500)]


@router.post("/unsent")
def keep(request: Request, typed: Typed) -> Response:
    """Keep what was typed on a page. A locked screen may still do so: nothing is shown for it."""
    secret, holder = held(request)
    require_token(typed, secret)
    if holder is None:
        raise SignInNeeded("/")
    try:
        path, forms = _path(typed.raw("path")), _forms(typed.raw("forms"))
        with request.app.state.store.write() as session:
            keep_unsent(session, holder.actor, path, forms, now=now_of(request))
    except Invalid as refusal:
        return JSONResponse({"why": str(refusal)}, 422, KEPT)
    return Response(status_code=204, headers=KEPT)


@router.get("/unsent")
@shows_no_patient  # but for what the same person has typed, and nobody else is shown
def see(request: Request, visitor: See, path: Path) -> Response:
    """What one typed on this page and did not store, and on which others there is more."""
    with request.app.state.store.read() as session:
        kept = list_unsent(session, visitor.actor, now=now_of(request))
    here = next((one for one in kept if one.path == path), None)
    return JSONResponse(
        {
            "forms": [] if here is None else [_form_view(form) for form in here.forms],
            "kept_at": "" if here is None else iso(here.kept_at),
            "elsewhere": [[one.path, one.titles] for one in kept if one is not here],
        },
        headers=KEPT,
    )


@router.post("/unsent/drop")
def drop(request: Request, visitor: See, typed: Typed) -> Response:
    """Let go of what one typed on a page: it is stored, or not wanted any more."""
    require_token(typed, visitor.secret)
    with request.app.state.store.write() as session:
        drop_unsent(session, visitor.actor, typed.raw("path"))
    return Response(status_code=204, headers=KEPT)


def _form_view(form: TypedForm) -> dict[str, Any]:
    fields = [[one.name, one.value, one.label] for one in form.fields]
    return {"id": form.id, "action": form.action, "title": form.title, "fields": fields}


def _path(text: str) -> str:
    if not local_path(text):
        raise Invalid("path", "is no address of this site")
    return text


def _forms(text: str) -> tuple[TypedForm, ...]:
    try:
        forms = json.loads(text)
    except ValueError:
        raise Invalid("forms", SHAPE) from None
    if not isinstance(forms, list) or not all(_is_form(form) for form in forms):
        raise Invalid("forms", SHAPE)
    return tuple(
        TypedForm(form_id, action, title, tuple(TypedField(*field) for field in fields))
        for form_id, action, title, fields in forms
    )


def _is_form(form: Any) -> bool:
    of_form, of_field = PARTS
    if not isinstance(form, list) or len(form) != of_form or not isinstance(form[-1], list):
        return False
    return _are_texts(form[:-1]) and all(
        isinstance(field, list) and len(field) == of_field and _are_texts(field)
        for field in form[-1]
    )


def _are_texts(values: list[Any]) -> bool:
    return all(isinstance(value, str) for value in values)
