"""What the wards changed: noted, withdrawn, and the form to note another."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from server.domain.wording import day_text
from server.pages.links import ward_href
from server.services.actor import Actor
from server.services.permissions import Act, may
from server.services.review_period import Review


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change. `withdraw` is where it can be withdrawn, empty where it cannot be."""

    day: str
    text: str
    ward: str
    noted: str
    withdrawn: str
    withdraw: str


@dataclass(frozen=True, slots=True)
class ChangeForm:
    """The form that notes a change; `hidden` is the question that it goes back to."""

    href: str
    csrf_token: str
    hidden: tuple[tuple[str, str], ...]
    day: str
    text: str
    errors: Mapping[str, str]


def change_rows(review: Review, actor: Actor) -> tuple[ChangeRow, ...]:
    """Make ready the changes of a period, withdrawn ones too."""
    wards = {one.ward.id: one.ward.name for one in review.wards}
    return tuple(
        ChangeRow(
            day=day_text(one.day),
            text=one.text,
            ward=wards[one.ward_id] if len(wards) > 1 else "",
            noted=_who(review.names, one.recorded_by),
            withdrawn="" if one.stands else _who(review.names, one.withdrawn_by),
            withdraw=withdraw_href(one.ward_id, one.id)
            if one.stands and may(actor, Act.NOTE_CHANGE, one.ward_id)
            else "",
        )
        for one in review.changes
    )


def note_href(ward_id: str) -> str:
    """Answer the address that notes a change."""
    return f"{ward_href(ward_id, 'review')}/changes"


def withdraw_href(ward_id: str, change_id: str) -> str:
    """Answer the address that withdraws a change."""
    return f"{note_href(ward_id)}/{quote(change_id, safe='')}/withdraw"


def _who(names: Mapping[str, str], staff_id: str | None) -> str:
    return names.get(staff_id or "", staff_id or "")
