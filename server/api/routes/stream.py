"""The stream of a ward."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Header, Query, Request

from server.api.answers.problem import READING
from server.api.caller import Asks
from server.api.queries import StreamQuery
from server.api.requests import StrictRoute
from server.api.stream import FORM, JsonEncoder
from server.domain.audit import SubjectKind
from server.live import StreamResponse, Streams, seen_revision
from server.services.enter_ward import read_ward
from server.services.permissions import Act
from server.services.shown import shows

router = APIRouter(route_class=StrictRoute, tags=["board"])

EVENT: Final = {
    "type": "object",
    "required": ["event", "data"],
    "properties": {
        "event": {"enum": ["changed", "reminder", "tick"]},
        "data": {"type": "string", "contentMediaType": "application/json"},
        "id": {"type": "string"},
    },
}
STREAM: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": (
            "`changed` with `{revision, episode_ids, whole}`, `reminder` with a reminder, `tick` "
            "with `{at, checked_at, away}`; `away`: the database does not answer, and more may "
            "have changed. The id of an event is the ward's revision; a client that "
            "sends the last one it saw is told what it missed."
        ),
        "content": {"text/event-stream": {"itemSchema": EVENT}},
    }
}


def require_ward(asks: Asks, query: Annotated[StreamQuery, Query()]) -> StreamQuery:
    """The ward exists and is one of the caller's."""
    with asks.read() as (session, _):
        read_ward(session, asks.actor, query.ward_id)
    return query


@router.get("/stream", status_code=200, response_class=StreamResponse, responses=STREAM | READING)
@shows(SubjectKind.BOARD, ward="ward_id")
async def get_stream(
    request: Request,
    asks: Asks,
    query: Annotated[StreamQuery, Depends(require_ward)],
    last_event_id: Annotated[str | None, Header(alias="Last-Event-ID")] = None,
) -> StreamResponse:
    """Follow a ward."""
    streams: Streams = request.app.state.streams
    seen = seen_revision(last_event_id)
    since = query.since if seen is None else seen
    return StreamResponse(
        streams,
        FORM,
        query.ward_id,
        JsonEncoder(),
        since=since,
        may_listen=lambda: asks.may_still(Act.READ, query.ward_id),
    )
