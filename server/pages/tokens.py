"""Tokens of other programs: see who may come in, make one, take one back."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from server.domain.wording import dated_time
from server.domain.words import Role
from server.pages.answers import PageRoute, attempt, done
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import Surroundings
from server.pages.links import token_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.tables import Sheet
from server.pages.visitors import See, Typed
from server.pages.ward_setting import ROLE
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.enter_ward import list_wards
from server.services.permissions import Act, require
from server.services.shown import shows_no_patient
from server.services.tokens import (
    list_tokens,
    make_token,
    revoke_token,
    token_to_revoke,
)
from server.store.sessions import WriteSession
from server.store.staff import staff_names
from server.store.tokens import Token

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "tokens"
HERE: Final = "/tokens"
BACK: Final = ("Tokens", HERE)
ALL_WARDS: Final = "*"
PROGRAMS_FIRST: Final = sorted(Role, key=lambda role: role is not Role.INTERFACE)
ROLES: Final = tuple((one.value, ROLE[one]) for one in PROGRAMS_FIRST)
FIELDS: Final = (
    Field(
        "name", "Name", required=True, hint="The program that uses it, such as the blood bank’s."
    ),
    Field("role", "What it may do", Shape.PICK, options=ROLES, required=True),
    Field("wards", "Wards", Shape.ANY_OF, given="wards", bare=True),
)
NO_WARD: Final = "none was chosen; expected at least one"


@dataclass(frozen=True, slots=True)
class TokenView:
    """One token in words; `href` leads to where it is taken back, empty where it cannot be."""

    name: str
    role: str
    wards: str
    made: str
    used: str
    revoked: str
    href: str


@router.get(HERE)
@shows_no_patient
def see_tokens(request: Request, visitor: See) -> Response:
    """The tokens that open one of the person's wards; what they are is not kept."""
    return _page(Screen(request, visitor, NAME))


@router.get(f"{HERE}/new")
@shows_no_patient
def see_new_token(request: Request, visitor: See) -> Response:
    """The form to make a token."""
    require(visitor.actor, Act.TOKENS)
    return _form(Screen(request, visitor, NAME), Entry({"role": [Role.INTERFACE.value]}))


@router.post(HERE)
def make(request: Request, visitor: See, typed: Typed) -> Response:
    """Make a token; it is shown once, on the page that answers the first time."""
    screen = Screen(request, visitor, NAME)
    secrets: list[str] = []

    def write(session: WriteSession) -> str:
        secrets.append(_make(session, screen, typed))
        return HERE

    def act() -> Response:
        href = screen.write_once(typed, write)
        return _page(screen, secret=secrets[0]) if secrets else done(href)

    return attempt(visitor, typed, act, lambda wrong: _form(screen, typed, wrong))


@router.get(f"{HERE}/{{token_id}}/take-back")
@shows_no_patient
def see_take_back(request: Request, visitor: See, token_id: str) -> Response:
    """What ends when a token is taken back, and the button that does it."""
    return _asked(Screen(request, visitor, NAME), token_id)


@router.post(f"{HERE}/{{token_id}}/take-back")
def take_back(request: Request, visitor: See, typed: Typed, token_id: str) -> Response:
    """Take a token back: whoever shows it is refused from now on."""
    screen = Screen(request, visitor, NAME)

    def act() -> str:
        with screen.store.write() as session:
            revoke_token(session, visitor.actor, token_id, now=screen.now)
        return HERE

    return screen.try_form(typed, act, lambda wrong: _asked(screen, token_id, wrong))


def _make(session: WriteSession, screen: Screen, typed: Entry) -> str:
    wards = typed.all("wards")
    name = typed.text("name", required=True) or ""
    role = typed.choice("role", [value for value, _ in ROLES], required=True)
    if not wards:
        typed.refuse("wards", NO_WARD)
    typed.check()
    return make_token(
        session,
        name,
        Role(role or Role.INTERFACE),
        None if ALL_WARDS in wards else wards,
        by=screen.visitor.actor,
        now=screen.now,
    )


def _page(screen: Screen, *, secret: str = "") -> Response:
    setting, actor = screen.setting(), screen.visitor.actor
    with screen.store.read() as session:
        tokens = list_tokens(session, actor)
        wards = {one.id: one.name for one in list_wards(session, actor)}
        makers = staff_names(session, [one.made_by for one in tokens if one.made_by])
    names = makers | {AT_THE_COMMAND_LINE.id: "at the command line"}
    views = [
        _view(one, names, wards, setting.zone, screen.now, changes=actor.is_on_all(one.wards))
        for one in tokens
    ]
    return page(
        "setup/tokens.html",
        head=screen.head_of_all(setting),
        standing=[one for one in views if not one.revoked],
        revoked=[one for one in views if one.revoked],
        secret=secret,
        new_href=f"{HERE}/new",
    )


def _view(
    token: Token,
    names: Mapping[str, str],
    wards: Mapping[str, str],
    zone: ZoneInfo,
    now: datetime,
    *,
    changes: bool,
) -> TokenView:
    maker = names.get(token.made_by or "", "")
    made = dated_time(token.made_at, zone, now)
    return TokenView(
        name=token.name,
        role=ROLE[token.role],
        wards=_ward_words(token, wards),
        made=f"{made}, {maker}" if maker else made,
        used="" if token.used_at is None else dated_time(token.used_at, zone, now),
        revoked="" if token.revoked_at is None else dated_time(token.revoked_at, zone, now),
        href=token_href(token.id) if changes else "",
    )


def _ward_words(token: Token, wards: Mapping[str, str]) -> str:
    if token.wards is None:
        return "all wards"
    named = [wards[one] for one in sorted(token.wards) if one in wards]
    others = len(token.wards) - len(named)
    return ", ".join([*named, *([f"{others} more"] if others else [])]) or "no ward"


def _asked(screen: Screen, token_id: str, wrong: Wrong | None = None) -> Response:
    with screen.store.read() as session:
        token = token_to_revoke(session, screen.visitor.actor, token_id)
    setting = screen.setting()
    used = "never" if token.used_at is None else dated_time(token.used_at, setting.zone, screen.now)
    return page(
        "setup/token.html",
        status=wrong.status if wrong else 200,
        head=screen.head_of_all(setting),
        token_name=token.name,
        used=used,
        revoked=token.revoked_at is not None,
        href=token_href(token_id),
        list_href=HERE,
        errors=wrong.errors if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )


def _form(screen: Screen, entry: Entry, wrong: Wrong | None = None) -> Response:
    with screen.store.read() as session:
        wards = list_wards(session, screen.visitor.actor)
    every: Options = ((ALL_WARDS, "all wards"),) if screen.visitor.actor.wards is None else ()
    lists = {"wards": (*((one.id, one.name) for one in wards), *every)}
    hint = "Its text is made here, shown once and kept nowhere. Give each program its own."
    sheet = Sheet("Make a token", HERE, "Make the token", BACK, FIELDS, hint)
    return screen.form(sheet, entry, Surroundings(screen.setting().zone, lists), wrong)
