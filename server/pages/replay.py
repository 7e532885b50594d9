"""A ward as it stood at any past second: board, list and reminders, as known then and as now."""

from typing import Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.domain.audit import SubjectKind
from server.domain.clock import SECOND
from server.pages.answers import PageRoute
from server.pages.episodes.sentences import Speech
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Options
from server.pages.links import ward_href
from server.pages.rendering import HEADERS, page, wants_part
from server.pages.replays.asked import LIST, Asked, asked_of
from server.pages.replays.spans import SHIFT, Span, span_at
from server.pages.replays.track import track_of
from server.pages.replays.view import replay_view, shown_then
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.pages.ward_setting import WardSetting
from server.services.enter_shift import list_shifts
from server.services.enter_staff import list_staff
from server.services.list_happenings import list_happenings
from server.services.nurses import NURSES, is_nurse_of
from server.services.replay_list import replay_list
from server.services.replay_ward import Replay, replay_ward
from server.services.shown import shows, shows_no_patient
from server.store.sessions import ReadSession
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "replay"


@router.get("/replay")
@shows_no_patient
def see_first_ward(request: Request, visitor: See) -> Response:
    """Send a person to the replay of the first of their wards."""
    ward_id = Screen(request, visitor, NAME).setting().ward_id
    href = "/wards" if ward_id is None else ward_href(ward_id, NAME)
    return RedirectResponse(href, status_code=303, headers=dict(HEADERS))


@router.get("/wards/{ward_id}/replay")
@shows(SubjectKind.REPLAY, ward="ward_id")
def see_replay(request: Request, visitor: See, ward_id: str) -> Response:
    """The ward at `at`, as `known` then or now; without an instant, the present second."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting, params = screen.setting(), request.query_params
    query = Entry({name: params.getlist(name) for name in params})
    try:
        asked = asked_of(ward_id, query, setting.zone, screen.now)
    except Wrong as wrong:
        asked = Asked(ward_id, screen.now.replace(microsecond=0))
        return _page(screen, setting, asked, query, wrong)
    return _page(screen, setting, asked, query)


def _page(
    screen: Screen, setting: WardSetting, asked: Asked, query: Entry, wrong: Wrong | None = None
) -> Response:
    actor, now = screen.visitor.actor, screen.now
    with screen.store.read() as session:
        replay = replay_ward(session, actor, asked.ward_id, at=asked.at, known_at=asked.known_at)
        staff = list_staff(session, actor, asked.ward_id)
        span = _span(session, screen, asked, setting.zone)
        happened = list_happenings(session, actor, asked.ward_id, span.start, span.end)
        is_list = asked.view == LIST and asked.nurse
        lists = replay_list(session, replay, asked.nurse) if is_list else None
    speech = _speech(setting, staff, replay)
    head, errors = screen.head(setting), _errors(wrong)
    nurses = _nurses(staff, replay, asked.ward_id, speech)
    track = track_of(asked, span, happened, setting.zone, now)
    return page(
        "replay/body.html" if wants_part(screen.request) else "replay/replay.html",
        status=422 if errors else 200,
        head=head,
        replay=replay_view(asked, replay, span, track, speech, nurses, now),
        shown=shown_then(asked, replay, lists, speech, night=head.night),
        typed=query.typed("at", setting.zone) if errors else asked.typed(setting.zone),
        errors=errors,
    )


def _errors(wrong: Wrong | None) -> dict[str, str]:
    """What is wrong, by field; what only an address can say belongs to none."""
    errors = {} if wrong is None else wrong.errors
    others = "; ".join(f"{name} {why}" for name, why in errors.items() if name != "at")
    return {name: why for name, why in errors.items() if name == "at"} | (
        {"form": others} if others else {}
    )


def _span(session: ReadSession, screen: Screen, asked: Asked, zone: ZoneInfo) -> Span:
    at, actor = asked.at, screen.visitor.actor
    shifts = (
        list_shifts(session, actor, asked.ward_id, at, at + SECOND) if asked.span == SHIFT else ()
    )
    return span_at(asked.span, at, zone, shifts)


def _speech(setting: WardSetting, staff: tuple[Staff, ...], replay: Replay) -> Speech:
    unit = "C" if setting.ward is None else setting.ward.temperature_unit
    names = {one.id: one.name for one in staff} | dict(replay.names)
    return Speech(setting.zone, unit, names, replay.at)


def _nurses(staff: tuple[Staff, ...], replay: Replay, ward_id: str, speech: Speech) -> Options:
    """The nurses to choose from: those of the ward, and whoever had a unit then."""
    held = {
        row.picture.episode.nurse_id
        for view in (replay.then, replay.now)
        for row in view.board.rows
    }
    nurses = {one.id for one in staff if is_nurse_of(one, ward_id)}
    known = {one.id: one for one in staff}
    nurses |= {one for one in held if one in known and known[one].role in NURSES}
    return tuple(sorted(((one, speech.name(one)) for one in nurses), key=lambda pair: pair[1]))
