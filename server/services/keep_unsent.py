"""Keep what somebody typed and did not store, for them alone, until they come back to the page.

It is no fact: nothing is worked out from it, nobody else is shown it, and it goes after a day.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.errors import Invalid
from server.services.actor import Actor
from server.store import unsent as stored
from server.store.sessions import ReadSession, WriteSession
from server.store.unsent import Unsent

KEPT_FOR: Final = timedelta(days=1)
MOST_CHARACTERS: Final = 65_536
LONGEST_PATH: Final = 500


@dataclass(frozen=True, slots=True)
class TypedField:
    """One value as it stood in a field; `label` are the words beside it."""

    name: str
    value: str
    label: str


@dataclass(frozen=True, slots=True)
class TypedForm:
    """A form that was typed into: its id, where it is sent, what it is called, its fields."""

    id: str
    action: str
    title: str
    fields: tuple[TypedField, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """What was typed on a page, and when it was kept."""

    path: str
    forms: tuple[TypedForm, ...]
    kept_at: datetime

    @property
    def titles(self) -> str:
        """What the forms are called, in one line."""
        return ", ".join(dict.fromkeys(form.title for form in self.forms)) or "a form"


def keep_unsent(
    session: WriteSession, actor: Actor, path: str, forms: Sequence[TypedForm], *, now: datetime
) -> None:
    """Keep what was typed on a page, in place of what was kept of it. Raises `Invalid`."""
    plain = [_plain(form) for form in forms]
    if len(path) > LONGEST_PATH:
        raise Invalid("path", f"is {len(path)} characters long; expected at most {LONGEST_PATH}")
    length = len(json.dumps(plain))
    if length > MOST_CHARACTERS:
        raise Invalid("forms", f"are {length} characters long; expected at most {MOST_CHARACTERS}")
    stored.keep_unsent(session, actor.id, Unsent(path, plain, now))


def list_unsent(session: ReadSession, actor: Actor, *, now: datetime) -> tuple[Kept, ...]:
    """Answer what one has left typed on each page, the latest first."""
    return tuple(
        Kept(one.path, tuple(_form(plain) for plain in one.forms), one.kept_at)
        for one in stored.unsent_of(session, actor.id)
        if now - one.kept_at < KEPT_FOR
    )


def drop_unsent(session: WriteSession, actor: Actor, path: str) -> None:
    """Let go of what one typed on a page."""
    stored.drop_unsent(session, actor.id, path)


def _plain(form: TypedForm) -> list[object]:
    fields = [[field.name, field.value, field.label] for field in form.fields]
    return [form.id, form.action, form.title, fields]


def _form(plain: list[object]) -> TypedForm:
    form_id, action, title, fields = plain
    return TypedForm(form_id, action, title, tuple(TypedField(*one) for one in fields))  # type: ignore[arg-type, attr-defined]
