"""That a ward changed, told at once to pages that then look for themselves."""

import json
from typing import Final

from fastapi import APIRouter, Request

from server.domain.encoding import write_instant
from server.live import News, StreamResponse, Streams, Tick, server_sent
from server.pages.answers import PageRoute
from server.pages.visitors import See, Visitor, now_of, signed_in_of
from server.services.enter_ward import read_ward
from server.services.permissions import Act, may
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

FORM: Final = "changes"  # all who follow a ward in this form share what is encoded


class ChangesEncoder:
    """Signs without content: `changed`, and `tick` as a sign of life."""

    def news(self, news: News) -> bytes:
        """The ward's revision and nothing else."""
        return server_sent("changed", str(news.revision), revision=news.revision)

    def tick(self, tick: Tick) -> bytes:
        """The present instant, and whether the database is away."""
        said = {"at": write_instant(tick.at), "away": tick.away}
        return server_sent("tick", json.dumps(said))


@router.get("/wards/{ward_id}/changes", response_class=StreamResponse)
@shows_no_patient
def follow(request: Request, visitor: See, ward_id: str) -> StreamResponse:
    """Follow a ward for as long as the person may read it."""
    with request.app.state.store.read() as session:
        read_ward(session, visitor.actor, ward_id)
    streams: Streams = request.app.state.streams
    return StreamResponse(
        streams,
        FORM,
        ward_id,
        ChangesEncoder(),
        since=None,
        may_listen=lambda: _may_listen(request, visitor, ward_id),
    )


def _may_listen(request: Request, visitor: Visitor, ward_id: str) -> bool:
    """Whether the person is signed in still, the screen unlocked, and may still read the ward."""
    app = request.app
    holder = signed_in_of(app).find(app, visitor.secret, now_of(request))
    return holder is not None and not holder.locked and may(holder.actor, Act.READ, ward_id)
