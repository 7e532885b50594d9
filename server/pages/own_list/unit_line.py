"""A unit in one line: its bed, whose it is, what it is and how it stands."""

from dataclasses import dataclass

from server.domain.alarm import MARK, OF_LEVEL, Alarm
from server.domain.picture import Picture
from server.domain.request import Request
from server.domain.wording import COMPONENT, LEVEL
from server.pages.links import episode_href, hand_href
from server.pages.row_view import dom_key


@dataclass(frozen=True, slots=True)
class UnitLine:
    """One unit. `ward` is empty where there is only one, `hand_href` where it changes hands."""

    key: str
    bed: str
    name: str
    unit: str
    ward: str
    word: str
    priority: str
    mark: str
    href: str
    hand_href: str


def unit_line(picture: Picture, ward: str) -> UnitLine:
    """Answer the line of a unit on the ward of this name."""
    request, level = picture.case.request, picture.urgency.level
    priority = OF_LEVEL.get(level, Alarm.NONE)
    return UnitLine(
        key=dom_key(request.id),
        bed=request.bed,
        name=picture.case.patient.full_name,
        unit=unit_text(request),
        ward=ward,
        word=LEVEL[level],
        priority=priority,
        mark=MARK[priority],
        href=episode_href(request.id),
        hand_href=hand_href(request.id),
    )


def unit_text(request: Request) -> str:
    """Answer what was asked for, with its place among several."""
    place = f" {request.n} of {request.units}" if request.units > 1 else ""
    return f"{COMPONENT[request.component]}{place}"
