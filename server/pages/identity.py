"""The identity check of a unit at the bedside, by one person or two, on one device or on two."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.domain.identity_check import CheckState
from server.pages.answers import PageRoute, attempt, done
from server.pages.cookies import OF_A_PATH, cookie_name, read_cookie
from server.pages.forms.entry import Entry, Wrong
from server.pages.identities.identity_view import identity_view, wait_view
from server.pages.identities.read_entry import read_entry
from server.pages.identities.seen import Seen
from server.pages.links import episode_href, identity_href
from server.pages.recognising import staff_signing
from server.pages.rendering import page, wants_part
from server.pages.visitors import See, Typed, Visitor, now_of
from server.pages.ward_setting import head_of, ward_setting
from server.services.actor import Actor
from server.services.badges import holder_of
from server.services.enter_readings import Entered, enter_readings
from server.services.interrupt_check import interrupt_check
from server.services.join_check import actor_of_seat, sign_second
from server.services.list_waiting_checks import list_waiting_checks
from server.services.read_identity import read_identity
from server.services.shown import shows, shows_no_patient
from server.services.take_part import take_part

router = APIRouter(route_class=PageRoute, include_in_schema=False)

SEAT: Final = "fourth_hour_seat"
"""The cookie by which a device knows that the second person reads on it."""

A_BADGE: Final = "is the badge of a member of staff, not a label; nothing was read"

Begin = Annotated[str, Query(max_length=8)]


@router.get("/episodes/{episode_id}/identity")
@shows(SubjectKind.IDENTITY, "episode_id")
def see_identity(request: Request, visitor: See, episode_id: str, begin: Begin = "") -> Response:
    """The check of a unit; `begin` shows one that has ended as one that begins again."""
    return _page(request, visitor, episode_id, begins=bool(begin))


@router.get("/identity-checks")
@shows_no_patient
def see_calls(request: Request, visitor: See) -> Response:
    """The checks that wait for a second person, alone: other pages put them in place."""
    with request.app.state.store.read() as session:
        checks = list_waiting_checks(session, visitor.actor, now=now_of(request))
    calls = [(identity_href(one.episode_id), one.bed, one.first) for one in checks]
    return page("identity/calls.html", calls=calls)


@router.get("/episodes/{episode_id}/identity/waiting")
@shows(SubjectKind.IDENTITY, "episode_id")
def see_waiting(request: Request, visitor: See, episode_id: str) -> Response:
    """For whom the reader waits, alone; once nobody is waited for, on to the whole page."""
    seen = _look(request, visitor, episode_id)
    if not seen.waits:
        return _go(request, identity_href(episode_id))
    return page("identity/waiting.html", wait=wait_view(seen))


@router.post("/episodes/{episode_id}/identity")
def enter(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Enter what was scanned, typed or heard; a match leads on to the page of the unit."""

    def act() -> Response:
        entered = _enter(request, visitor, typed, episode_id)
        if entered.state is CheckState.MATCHED:
            return _go(request, f"{episode_href(episode_id)}?recorded={entered.event_id}")
        return done(identity_href(episode_id))

    return attempt(visitor, typed, act, lambda wrong: _again(request, visitor, typed, wrong))


@router.post("/episodes/{episode_id}/identity/interrupted")
def interrupt(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """End the check as interrupted: it starts again from the top."""

    def act() -> Response:
        actor, now = _reader(request, visitor, episode_id), now_of(request)
        with request.app.state.store.write() as session:
            interrupt_check(session, actor, episode_id, typed.raw("check"), now=now)
        return done(identity_href(episode_id))

    return attempt(visitor, typed, act, lambda wrong: _again(request, visitor, typed, wrong))


@router.post("/episodes/{episode_id}/identity/second")
def sign(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Sign as the second person on this device; the first one's session goes on."""

    def act() -> Response:
        second, now = staff_signing(request, typed), now_of(request)
        with request.app.state.store.write() as session:
            secret = sign_second(
                session, visitor.actor, episode_id, typed.raw("check"), second, now=now
            )
        answer = done(identity_href(episode_id))
        called = cookie_name(request.app, SEAT, OF_A_PATH)
        answer.set_cookie(called, secret, **_seat_rules(request, episode_id))
        return answer

    return attempt(visitor, typed, act, lambda wrong: _again(request, visitor, typed, wrong))


def _enter(request: Request, visitor: Visitor, typed: Entry, episode_id: str) -> Entered:
    seen, now = _look(request, visitor, episode_id), now_of(request)
    site = seen.look.read.picture.case.site
    _require_no_badge(request, typed.raw("scan"))
    readings = read_entry(typed, seen.look.form, site.record_number)
    if seen.has_matched_with(typed.raw("check"), readings):
        return Entered(CheckState.MATCHED, seen.event_id)
    with request.app.state.store.write() as session:
        check_id = take_part(session, seen.reader, episode_id, typed.raw("check"), now=now)
        return enter_readings(session, seen.reader, episode_id, check_id, readings, now=now)


def _require_no_badge(request: Request, scan: str) -> None:
    """Refuse a badge of plain digits before it is taken for another patient's record number."""
    with request.app.state.store.read() as session:
        if scan and holder_of(session, request.app.state.board_key, scan) is not None:
            raise Wrong({"scan": A_BADGE})


def _look(request: Request, visitor: Visitor, episode_id: str, *, begins: bool = False) -> Seen:
    now, reader = now_of(request), _reader(request, visitor, episode_id)
    with request.app.state.store.read() as session:
        look = read_identity(session, visitor.actor, episode_id, reader=reader, now=now)
    return Seen(look, visitor.actor, reader, begins=begins and look.state is not CheckState.OPEN)


def _reader(request: Request, visitor: Visitor, episode_id: str) -> Actor:
    """Who reads on this device: the person of the session, or the second who signed on it."""
    secret, now = read_cookie(request, SEAT, OF_A_PATH), now_of(request)
    with request.app.state.store.read() as session:
        return actor_of_seat(session, episode_id, secret, now=now) or visitor.actor


def _again(request: Request, visitor: Visitor, typed: Entry, wrong: Wrong) -> Response:
    return _page(request, visitor, request.path_params["episode_id"], typed=typed, wrong=wrong)


def _page(
    request: Request,
    visitor: Visitor,
    episode_id: str,
    *,
    typed: Entry | None = None,
    wrong: Wrong | None = None,
    begins: bool = False,
) -> Response:
    # What was refused without a check was meant to begin one.
    begins = begins or (typed is not None and not typed.raw("check"))
    seen = _look(request, visitor, episode_id, begins=begins)
    with request.app.state.store.read() as session:
        setting = ward_setting(session, visitor.actor, now_of(request), seen.look.read.ward.id)
    return page(
        "identity/body.html" if wants_part(request) else "identity/identity.html",
        status=wrong.status if wrong else 200,
        head=head_of(visitor, setting, now_of(request), ""),
        identity=identity_view(seen),
        typed=typed or Entry(),
        errors=wrong.errors if wrong else {},
    )


def _go(request: Request, href: str) -> Response:
    """On to another page; a page that swaps parts is told to go there itself."""
    if not wants_part(request):
        return done(href)
    return Response(headers={"HX-Redirect": href, "Cache-Control": "no-store"})


def _seat_rules(request: Request, episode_id: str) -> dict[str, Any]:
    secure = request.app.state.settings.secure_cookies
    path = identity_href(episode_id)
    return {"path": path, "httponly": True, "samesite": "strict", "secure": secure}
