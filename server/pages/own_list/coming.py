"""Planned starts of a nurse as coming work, `15:05 call for bed 4`, with the way to the plan."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.wording import wall_time
from server.pages.links import plan_href
from server.pages.own_list.unit_line import unit_text
from server.pages.page_head import iso
from server.pages.row_view import dom_key
from server.services.list_mine import Mine
from server.services.list_planned import Coming


@dataclass(frozen=True, slots=True)
class ComingView:
    """One planned start, with the instant at which the nurse is needed for it."""

    key: str
    at_iso: str
    time: str
    words: str
    unit: str
    href: str


def coming_views(coming: Iterable[Coming], mine: Mine) -> tuple[ComingView, ...]:
    """Answer the planned starts in order of time."""
    return tuple(_view(one, mine) for one in coming)


def _view(one: Coming, mine: Mine) -> ComingView:
    ward, request = mine.wards[one.request.ward_id], one.request
    key = dom_key(request.id)
    return ComingView(
        key=key,
        at_iso=iso(one.at),
        time=wall_time(one.at, ZoneInfo(ward.timezone), mine.at),
        words=_words(one, ZoneInfo(ward.timezone), mine.at),
        unit=unit_text(request),
        href=f"{plan_href(ward.id)}#unit-{key}",
    )


def _words(one: Coming, zone: ZoneInfo, now: datetime) -> str:
    bed = one.request.bed
    if one.is_call:
        return f"call for bed {bed}, check at {wall_time(one.start.check_at, zone, now)}"
    return f"check and start bed {bed}" if one.is_first else f"second check bed {bed}"
