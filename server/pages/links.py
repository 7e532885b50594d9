"""Where screens are, and which of them a person's role may open."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote, urlencode

from server.domain.words import ClockName, Role
from server.services.actor import Actor

SIGN_IN: Final = "/sign-in"
SIGN_OUT: Final = "/sign-out"
SIGN_ON: Final = "/sign-in/elsewhere"
SIGN_ON_BACK: Final = "/sign-in/back"
LOCKED: Final = "/locked"
MY_SIGN_IN: Final = "/my-sign-in"
MINE: Final = "/mine"


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen of a ward, or of all; `roles` are those that find it in their links."""

    name: str
    text: str
    roles: frozenset[Role]
    of_ward: bool = True


_NURSES: Final = frozenset({Role.BEDSIDE_NURSE, Role.CHARGE_NURSE})
_REVIEW: Final = frozenset({Role.CHARGE_NURSE, Role.MANAGER})
_SET_UP: Final = frozenset({Role.CHARGE_NURSE, Role.ADMINISTRATOR})
_AUDIT: Final = frozenset({Role.MANAGER, Role.ADMINISTRATOR})
_ALL: Final = _NURSES | {Role.MANAGER, Role.ADMINISTRATOR}

SCREENS: Final = (
    Screen("mine", "My list", _NURSES, of_ward=False),
    Screen("board", "Board", _ALL),
    Screen("reminders", "Reminders", _NURSES | _REVIEW),
    Screen("plan", "Plan", _REVIEW),
    Screen("review", "Review", _REVIEW),
    Screen("breaches", "Breaches", _NURSES | _REVIEW),
    Screen("accounts", "Accounted for", _REVIEW),
    Screen("replay", "Replay", _REVIEW),
    Screen("alarm-load", "Alarm load", _REVIEW),
    Screen("orders", "Orders", _REVIEW),
    Screen("patients", "Patients", _REVIEW, of_ward=False),
    Screen("staff", "Staff", _SET_UP | _REVIEW),
    Screen("shifts", "Shifts", _SET_UP | _REVIEW),
    Screen("wall-links", "Wall", _SET_UP),
    Screen("webhooks", "Webhooks", _SET_UP),
    Screen("wards", "Wards", frozenset({Role.ADMINISTRATOR}), of_ward=False),
    Screen("tokens", "Tokens", frozenset({Role.ADMINISTRATOR}), of_ward=False),
    Screen("policies", "Policies", _ALL, of_ward=False),
    Screen("audit", "Audit trail", _AUDIT, of_ward=False),
    Screen("program", "Program", frozenset({Role.ADMINISTRATOR}), of_ward=False),
)


def asking(href: str, asked: Mapping[str, str]) -> str:
    """Answer an address with what is asked of it; an empty text asks nothing."""
    said = {name: text for name, text in asked.items() if text}
    return f"{href}?{urlencode(said)}" if said else href


def ward_href(ward_id: str, screen: str, **query: str) -> str:
    """Answer the address of a ward's screen."""
    return asking(f"/wards/{quote(ward_id, safe='')}/{screen}", query)


def plan_href(ward_id: str, version: str = "", unit: str = "") -> str:
    """Answer the address of a ward's plan, of one version of it, with the form of one unit open."""
    return ward_href(ward_id, "plan", version=version, unit=unit)


def day_href(ward_id: str, day: str = "", done: str = "") -> str:
    """Answer the address of the duty of a day of a ward, by default today; `done` says what was."""
    return ward_href(ward_id, "plan/day", day=day, done=done)


def patient_href(patient_id: str) -> str:
    """Answer the address of a patient's form."""
    return f"/patients/{quote(patient_id, safe='')}"


def staff_href(ward_id: str, staff_id: str) -> str:
    """Answer the address of the form of a member of staff."""
    return f"{ward_href(ward_id, 'staff')}/{quote(staff_id, safe='')}"


def badge_href(ward_id: str, staff_id: str, step: str = "") -> str:
    """Answer the address where the badge of a member of staff is recorded, or of one step."""
    return f"{staff_href(ward_id, staff_id)}/badge{step}"


def account_href(ward_id: str, staff_id: str) -> str:
    """Answer the address where the account of single sign-on of somebody is."""
    return f"{staff_href(ward_id, staff_id)}/account"


def shift_href(ward_id: str, shift_id: str) -> str:
    """Answer the address of the form of a shift."""
    return f"{ward_href(ward_id, 'shifts')}/{quote(shift_id, safe='')}"


def order_href(ward_id: str, order_id: str) -> str:
    """Answer the address of the form that changes an order."""
    return f"{ward_href(ward_id, 'orders')}/{quote(order_id, safe='')}/change"


def wall_href(secret: str) -> str:
    """Answer the address of a wall."""
    return f"/wall/{quote(secret, safe='')}"


def wall_link_href(ward_id: str, link_id: str) -> str:
    """Answer the address that takes a wall link back."""
    return f"{ward_href(ward_id, 'wall-links')}/{quote(link_id, safe='')}/revoke"


def webhook_href(ward_id: str, webhook_id: str) -> str:
    """Answer the address of the page of a webhook."""
    return f"{ward_href(ward_id, 'webhooks')}/{quote(webhook_id, safe='')}"


def token_href(token_id: str) -> str:
    """Answer the address where a token is taken back."""
    return f"/tokens/{quote(token_id, safe='')}/take-back"


def episode_href(episode_id: str) -> str:
    """Answer the address of a unit's page."""
    return f"/episodes/{quote(episode_id, safe='')}"


def identity_href(episode_id: str, step: str = "") -> str:
    """Answer the address of a unit's identity check, or of one step of it."""
    return f"{episode_href(episode_id)}/identity{step}"


def hand_href(episode_id: str) -> str:
    """Answer the address where a unit is handed over or taken over."""
    return f"{MINE}/units/{quote(episode_id, safe='')}"


def cover_end_href(ward_id: str, cover_id: str) -> str:
    """Answer the address that ends a cover."""
    return f"{ward_href(ward_id, 'cover')}/{quote(cover_id, safe='')}/end"


def reaction_href(episode_id: str) -> str:
    """Answer the address of the page of a suspected reaction."""
    return f"{episode_href(episode_id)}/reaction"


def record_href(episode_id: str) -> str:
    """Answer the address of the record of a unit for the notes."""
    return f"{episode_href(episode_id)}/record"


def breach_href(episode_id: str, clock: ClockName, n: int) -> str:
    """Answer the address of the page of one limit of a unit that was not kept."""
    return f"{episode_href(episode_id)}/breaches/{clock}/{n}"


def screens_of(role: Role) -> tuple[Screen, ...]:
    """Answer the screens that a role finds in its links."""
    return tuple(screen for screen in SCREENS if role in screen.roles)


def home_href(actor: Actor, ward_id: str | None) -> str:
    """Answer where a person begins: each role where its work is."""
    if actor.role is Role.ADMINISTRATOR or ward_id is None:
        return "/wards"
    if actor.role is Role.MANAGER:
        return ward_href(ward_id, "review")
    if actor.role is Role.BEDSIDE_NURSE:
        return MINE
    return ward_href(ward_id, "board")


def local_path(path: str) -> str:
    """Answer a path of this site as it is, and nothing for any other address."""
    plain = path.startswith("/") and not path.startswith(("//", "/\\"))
    return path if plain and "\\" not in path and path.isprintable() else ""
