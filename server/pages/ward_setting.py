"""The ward a page is about: its zone, its night, and the head of the page for who looks at it."""

from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.invariants.clocks import UNCHECKED
from server.domain.policy import Policy
from server.domain.words import Role
from server.pages.board_view import is_night
from server.pages.links import SIGN_OUT, Screen, home_href, screens_of, ward_href
from server.pages.page_head import Link, PageHead, page_head
from server.pages.visitors import Visitor
from server.services.actor import Actor
from server.services.enter_ward import list_wards, read_ward, read_ward_policy
from server.services.read_invariants import broken_when_looked_at
from server.store.sessions import ReadSession
from server.store.wards import Ward

UTC_ZONE: Final = ZoneInfo("UTC")
ROLE: Final = {
    Role.BEDSIDE_NURSE: "bedside nurse",
    Role.CHARGE_NURSE: "charge nurse",
    Role.MANAGER: "manager",
    Role.ADMINISTRATOR: "administrator",
    Role.INTERFACE: "interface",
}


@dataclass(frozen=True, slots=True)
class WardSetting:
    """The ward of a page, None where the person has none; its policy and its zone with it.

    `broken` is, for an administrator, how many invariants did not hold when they were looked at.
    """

    ward: Ward | None
    policy: Policy | None
    zone: ZoneInfo
    several: bool
    broken: int = 0

    @property
    def ward_id(self) -> str | None:
        """The id of the ward, if there is one."""
        return None if self.ward is None else self.ward.id


def ward_setting(
    session: ReadSession, actor: Actor, now: datetime, ward_id: str | None = None
) -> WardSetting:
    """Answer the setting of a ward, or of the person's first. Raises `NotFound`, `Forbidden`."""
    wards = list_wards(session, actor)
    watches = actor.role is Role.ADMINISTRATOR
    broken = broken_when_looked_at(session) if watches else 0
    first = wards[0] if wards else None
    ward = first if ward_id is None else read_ward(session, actor, ward_id)
    if ward is None:
        return WardSetting(None, None, UTC_ZONE, several=False, broken=broken)
    policy = read_ward_policy(session, ward.id, now=now)
    return WardSetting(ward, policy, ZoneInfo(ward.timezone), several=len(wards) > 1, broken=broken)


def plain_head(actor: Actor, setting: WardSetting, now: datetime, current: str = "") -> PageHead:
    """Answer the head of a page without the forms of a session: ward, time and links."""
    ward, policy = setting.ward, setting.policy
    night = policy is not None and is_night(now, setting.zone, policy)
    head = page_head(now, setting.zone, ward_name="" if ward is None else ward.name, night=night)
    return replace(
        head,
        home_href=home_href(actor, setting.ward_id),
        links=_links(actor.role, setting.ward_id, current, several=setting.several),
    )


def head_of(visitor: Visitor, setting: WardSetting, now: datetime, current: str) -> PageHead:
    """Answer the head of a page; `current` names the screen."""
    actor = visitor.actor
    return replace(
        plain_head(actor, setting, now, current),
        person=actor.name,
        role_text=ROLE[actor.role],
        person_id=actor.id,
        lock_seconds=visitor.lock_seconds,
        sign_out_href=SIGN_OUT,
        csrf_token=visitor.csrf_token,
        program_text=_program_text(visitor, setting, now),
    )


def _program_text(visitor: Visitor, setting: WardSetting, now: datetime) -> str:
    """What an administrator is told where something of the program is wrong, ticks included."""
    if visitor.actor.role is not Role.ADMINISTRATOR:
        return ""
    checked_at = None if setting.ward is None else setting.ward.checked_at
    is_late = checked_at is not None and now - checked_at > UNCHECKED * visitor.stale_after
    count = setting.broken + is_late
    return "" if not count else "1 thing is wrong" if count == 1 else f"{count} things are wrong"


@lru_cache(maxsize=1024)
def _links(role: Role, ward_id: str | None, current: str, *, several: bool) -> tuple[Link, ...]:
    shown = [one for one in screens_of(role) if ward_id is not None or not one.of_ward]
    links = [Link(one.text, _href(one, ward_id), one.name == current) for one in shown]
    if several and role is not Role.ADMINISTRATOR:
        links.append(Link("Wards", "/wards", current == "wards"))
    return tuple(links)


def _href(screen: Screen, ward_id: str | None) -> str:
    if not screen.of_ward or ward_id is None:
        return f"/{screen.name}"
    return ward_href(ward_id, screen.name)
