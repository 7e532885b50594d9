"""The record of one transfusion for the notes: a page that prints on one sheet."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.pages.answers import PageRoute
from server.pages.forms.past import past_instant
from server.pages.records.record_view import Made, record_view
from server.pages.rendering import page
from server.pages.visitors import See, now_of
from server.pages.ward_setting import ROLE, head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.read_episode import read_episode
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)

Instant = Annotated[str, Query(max_length=40)]


@router.get("/episodes/{episode_id}/record")
@shows(SubjectKind.RECORD, "episode_id")
def see_record(
    request: Request, visitor: See, episode_id: str, at: Instant = "", known_at: Instant = ""
) -> Response:
    """The record as it is, or as it stood `at` an instant with what was `known_at` another."""
    now, asked = now_of(request), {"at": at, "known_at": known_at}
    then, known = (past_instant(name, asked, now) for name in asked)
    actor = visitor.actor
    with request.app.state.store.read() as session:
        read = read_episode(session, actor, episode_id, now=now, at=then, known_at=known)
        staff = list_staff(session, actor, read.ward.id)
        setting = ward_setting(session, actor, now, read.ward.id)
    made = Made(f"{actor.name}, {ROLE[actor.role]}", now, then, known)
    return page(
        "record/record.html",
        head=head_of(visitor, setting, now, ""),
        record=record_view(read, staff, made),
    )
