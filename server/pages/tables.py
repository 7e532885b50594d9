"""Plain lists and plain forms: what the set-up screens are made of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import Response

from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field
from server.pages.forms.views import FieldView, Surroundings, field_views, form_errors
from server.pages.page_head import PageHead
from server.pages.rendering import page

NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a list; with `href` a link, `soft` in a lesser ink."""

    text: str
    href: str = ""
    kind: str = ""
    soft: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a list, and buttons at its end as (words, href)."""

    cells: tuple[Cell, ...]
    key: str = ""


@dataclass(frozen=True, slots=True)
class ListPage:
    """A list with its title. `columns` as the table macro takes them; `empty` says why none."""

    title: str
    caption: str
    columns: tuple[str | tuple[str, str], ...]
    rows: tuple[Row, ...]
    empty: str
    hint: str = ""
    actions: tuple[tuple[str, str], ...] = ()
    notice: str = ""


@dataclass(frozen=True, slots=True)
class PlainForm:
    """One form on a page of its own."""

    title: str
    href: str
    button: str
    back: tuple[str, str]
    fields: tuple[FieldView, ...]
    errors: Mapping[str, str]
    csrf_token: str
    hint: str = ""


def list_page(head: PageHead, listed: ListPage) -> Response:
    """Answer a list as a page."""
    return page("setup/list.html", head=head, listed=listed)


def form_page(
    head: PageHead,
    form: PlainForm,
    *,
    status: int = 200,
) -> Response:
    """Answer a form as a page."""
    return page("setup/form.html", status=status, head=head, form=form)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a form on a page of its own is made of, before anything was typed."""

    title: str
    href: str
    button: str
    back: tuple[str, str]
    fields: Sequence[Field]
    hint: str = ""


def plain_form(
    sheet: Sheet, entry: Entry, around: Surroundings, csrf_token: str, wrong: Wrong | None = None
) -> PlainForm:
    """Answer a form with what was typed and what was wrong with it."""
    return PlainForm(
        title=sheet.title,
        href=sheet.href,
        button=sheet.button,
        back=sheet.back,
        fields=field_views(tuple(sheet.fields), entry, around),
        errors=form_errors(entry, wrong.errors) if wrong else {},
        csrf_token=csrf_token,
        hint=sheet.hint,
    )
