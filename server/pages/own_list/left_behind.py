"""Units that could not change hands, ready to be named to whoever hands over or takes over."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.urgency import natural
from server.domain.wording import COMPONENT
from server.pages.links import episode_href
from server.services.changing_hands import LeftBehind


@dataclass(frozen=True, slots=True)
class LeftLine:
    """One of them; `nurse` is who has it as far as was last known, in words."""

    bed: str
    unit: str
    nurse: str
    href: str


def left_lines(left: Iterable[LeftBehind]) -> tuple[LeftLine, ...]:
    """Answer them by bed."""
    ordered = sorted(left, key=lambda one: (natural(one.unit.bed), one.unit.id))
    return tuple(
        LeftLine(
            one.unit.bed,
            COMPONENT[one.unit.component],
            one.nurse_name or "nobody",
            episode_href(one.unit.id),
        )
        for one in ordered
    )
