"""The page of a unit as it was at an instant, or as was known then: it stands still."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import Request, Response

from server.domain.wording import day_text
from server.pages.episodes.episode_view import Asked, episode_view
from server.pages.forms.past import past_instant
from server.pages.links import episode_href, record_href
from server.pages.page_head import iso
from server.pages.rendering import page
from server.pages.visitors import Visitor, now_of
from server.pages.ward_setting import head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.read_episode import read_episode


@dataclass(frozen=True, slots=True)
class PastView:
    """When the page stands, and the ways from it. `known` is empty where all is told that is known.

    `other_href` is the same instant with what is known now, or with what was known then.
    """

    shown: str
    known: str
    other_href: str
    other_words: str
    now_href: str
    record_href: str


def past_page(
    request: Request, visitor: Visitor, episode_id: str, asked: Mapping[str, str]
) -> Response:
    """Answer the page of `?at=` and `?known_at=`. Raises `Wrong`, `NotFound`, `Forbidden`."""
    now, actor = now_of(request), visitor.actor
    at, known = (past_instant(name, asked, now) for name in ("at", "known_at"))
    with request.app.state.store.read() as session:
        read = read_episode(session, actor, episode_id, now=now, at=at, known_at=known)
        staff = list_staff(session, actor, read.ward.id)
        setting = ward_setting(session, actor, now, read.ward.id)
    return page(
        "episode/past.html",
        head=head_of(visitor, setting, now, ""),
        episode=episode_view(read, staff, visitor, Asked(still=True)),
        past=_past_view(episode_id, read.at, known, ZoneInfo(read.ward.timezone)),
    )


def _past_view(episode_id: str, at: datetime, known: datetime | None, zone: ZoneInfo) -> PastView:
    here, of = episode_href(episode_id), {"at": iso(at)}
    then = of | {"known_at": iso(known or at)}
    other = then if known is None else of
    return PastView(
        shown=_words(at, zone),
        known="" if known is None else _words(known, zone),
        other_href=f"{here}?{urlencode(other)}",
        other_words="With what was known then" if known is None else "With what is known now",
        now_href=here,
        record_href=f"{record_href(episode_id)}?{urlencode(of if known is None else then)}",
    )


def _words(instant: datetime, zone: ZoneInfo) -> str:
    local = instant.astimezone(zone)
    return f"{local:%H:%M:%S} on {day_text(local)}"
