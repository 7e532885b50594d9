"""Who may do what: one table, asked by every use case."""

from enum import StrEnum
from typing import Final

from server.domain.words import Kind, Role
from server.services.actor import Actor
from server.services.errors import Forbidden


class Act(StrEnum):
    """Something that can be asked for."""

    READ = "read"
    CHART = "chart"
    GIVE_CAUSE = "give a cause"
    CHECK_WARNING = "mark a warned unit as checked"
    CLASSIFY = "classify a reaction afterwards"
    ORDER = "register patients and orders"
    HAND_OVER = "hand over, take over and cover"
    OVERSEE = "hand over and cover for others"
    PLAN_STAFF = "enter shifts"
    PLAN_UNITS = "make and accept plans"
    USE_LEARNT = "have plans use the ward's own recorded minutes"
    WEIGH_ALARMS = "see what came of reminders"
    NOTE_CHANGE = "note what a ward changed"
    LINK_WALL = "make wall links"
    SEE_WEBHOOKS = "see webhooks"
    BADGES = "record badges"
    SET_UP = "set up wards and staff"
    TOKENS = "make tokens and take them back"
    READ_AUDIT = "read the audit trail"
    WATCH = "see how the board itself does"
    EXPORT = "take files away"
    EXPORT_IDENTITY = "take files with patient identity away"


_NURSE: Final = frozenset({Act.READ, Act.CHART, Act.GIVE_CAUSE, Act.HAND_OVER})

MAY: Final[dict[Role, frozenset[Act]]] = {
    Role.BEDSIDE_NURSE: _NURSE,
    Role.CHARGE_NURSE: _NURSE
    | {
        Act.OVERSEE,
        Act.CHECK_WARNING,
        Act.ORDER,
        Act.PLAN_STAFF,
        Act.PLAN_UNITS,
        Act.LINK_WALL,
        Act.SEE_WEBHOOKS,
        Act.WEIGH_ALARMS,
        Act.NOTE_CHANGE,
    }
    | {Act.BADGES, Act.EXPORT, Act.EXPORT_IDENTITY},
    Role.MANAGER: frozenset(
        {Act.READ, Act.GIVE_CAUSE, Act.CLASSIFY, Act.USE_LEARNT, Act.WEIGH_ALARMS}
        | {Act.NOTE_CHANGE, Act.READ_AUDIT, Act.EXPORT, Act.EXPORT_IDENTITY}
    ),
    Role.ADMINISTRATOR: frozenset(
        {Act.READ, Act.PLAN_STAFF, Act.LINK_WALL, Act.SEE_WEBHOOKS, Act.BADGES, Act.SET_UP}
        | {Act.TOKENS, Act.READ_AUDIT, Act.WATCH, Act.EXPORT}
    ),
    Role.INTERFACE: frozenset({Act.READ, Act.CHART, Act.GIVE_CAUSE, Act.ORDER, Act.WATCH}),
}


_ACT_OF: Final = {
    Kind.CAUSE_GIVEN: Act.GIVE_CAUSE,
    Kind.WARNING_CHECKED: Act.CHECK_WARNING,
}


def may(actor: Actor, act: Act, ward_id: str | None = None) -> bool:
    """Whether the actor may do `act`, on a ward where one is concerned."""
    return act in MAY[actor.role] and (ward_id is None or actor.is_on(ward_id))


def require(actor: Actor, act: Act, ward_id: str | None = None) -> None:
    """Raise `Forbidden` unless the actor may do `act`, on the ward where one is concerned."""
    if act not in MAY[actor.role]:
        raise Forbidden(f"the role {actor.role} may not {act}")
    if ward_id is not None and not actor.is_on(ward_id):
        raise Forbidden("this is not one of your wards")


def act_of(kind: Kind, voided: Kind | None = None) -> Act:
    """Which act recording an event of `kind` is; of a void, by the kind that it takes back.

    A cause is taken back by whoever gives causes: a manager does, and charts nothing.
    """
    if kind is Kind.VOIDED and voided is Kind.CAUSE_GIVEN:
        return Act.GIVE_CAUSE
    return _ACT_OF.get(kind, Act.CHART)
