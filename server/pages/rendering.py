"""Pages as answers: templates, and what every answer with a person's page says about itself."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any, Final

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from server.domain.alarm import TONE
from server.pages.forms.once import form_key
from server.pages.page_head import PageHead
from server.pages.unreadable_view import unreadable_lines
from server.services.unreadable import noticed
from server.web_files import templates_folder

HEADERS: Final[Mapping[str, str]] = {
    "Cache-Control": "no-store",
    "Vary": "HX-Request, HX-Request-Type",
}


@cache
def environment() -> Environment:
    """The template engine: everything is escaped, and an unknown name is an error."""
    made = Environment(
        loader=FileSystemLoader(templates_folder()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        cache_size=-1,
    )
    made.globals["form_key"] = form_key
    made.globals["tones"] = {priority: tone._asdict() for priority, tone in TONE.items()}
    return made


def render(name: str, **context: Any) -> str:
    """Answer a template with its context filled in."""
    return environment().get_template(name).render(**context)


def page(name: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """Answer a page or a part of one; never kept by a browser or a proxy.

    Its head says what had to be left out of it: all that it shows was read by now.
    """
    head, left_out = context.get("head"), noticed()
    if left_out and isinstance(head, PageHead):
        context["head"] = replace(head, unreadable=unreadable_lines(left_out))
    return HTMLResponse(render(name, **context), status_code=status, headers=dict(HEADERS))


def wants_part(request: Request) -> bool:
    """Whether the page that asks will put the answer into itself."""
    return request.headers.get("hx-request-type") == "partial"
