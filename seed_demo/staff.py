"""Who works on the ward, and who can sign in."""

from dataclasses import dataclass
from typing import Final

from server.domain.words import Role
from server.services.actor import Actor

WARD_ID: Final = "lantern"
PASSWORD: Final = "lantern-ward"  # noqa: S105 - printed for everybody who tries the demo
"""Of every account of the demonstration, and of no other database."""


@dataclass(frozen=True, slots=True)
class Person:
    """A member of staff; without a sign-in name they are only named on the board.

    Who may not start a unit is the second person at checks.
    """

    id: str
    name: str
    role: Role
    sign_in_name: str | None = None
    may_start: bool = True

    @property
    def actor(self) -> Actor:
        """This person as the one who asks."""
        return Actor(self.id, self.name, self.role, frozenset({WARD_ID}), staff_id=self.id)


def _nurse(key: str, name: str, sign_in_name: str | None = None) -> Person:
    return Person(key, name, Role.BEDSIDE_NURSE, sign_in_name)


def _second_only(key: str, name: str) -> Person:
    """Somebody who is new to transfusion and is trained to read along."""
    return Person(key, name, Role.BEDSIDE_NURSE, may_start=False)


def _in_charge(key: str, name: str, sign_in_name: str | None = None) -> Person:
    return Person(key, name, Role.CHARGE_NURSE, sign_in_name, may_start=False)


@dataclass(frozen=True, slots=True)
class Team:
    """Who is on one shift together. The charge nurse starts nothing: somebody has to look up."""

    charge: Person
    nurses: tuple[Person, ...]

    @property
    def everybody(self) -> tuple[Person, ...]:
        """All of them, the charge nurse first."""
        return (self.charge, *self.nurses)


EARLY: Final = Team(
    charge=_in_charge("marlow", "Róisín Marlow-Achterberg", "charge"),
    nurses=(
        _nurse("ek", "Bo Ek", "bo"),
        _nurse("dunmore", "Agnes Dunmore", "agnes"),
        _nurse("vandermolen", "Inês Vandermolen", "ines"),
        _nurse("hale", "Priya Thirunavukkarasu-Hale", "priya"),
        _nurse("brandao", "Mateus Brandão", "mateus"),
        _second_only("frayne", "Ottoline Frayne"),
    ),
)
LATE: Final = Team(
    charge=_in_charge("tarrant", "Solveig Tarrant"),
    nurses=(
        _nurse("kaldirim", "Yusuf Kaldırım"),
        _nurse("holm", "Gréta Holm"),
        _nurse("abara", "Tom Abara"),
        _nurse("wren", "Łucja Wren"),
        _nurse("palliser", "Kit Palliser"),
        _second_only("imber", "Sanna Imber"),
    ),
)
TEAMS: Final = (EARLY, LATE)

MANAGER: Final = Person("molyneux", "Harriet Molyneux-Brandt", Role.MANAGER, "manager")
ADMINISTRATOR: Final = Person("wolny", "Casimir Wolny", Role.ADMINISTRATOR, "admin")

EVERYBODY: Final = (
    *(person for team in TEAMS for person in team.everybody),
    MANAGER,
    ADMINISTRATOR,
)
PEOPLE: Final = {person.id: person for person in EVERYBODY}

BLOOD_BANK: Final = Actor("blood-bank", "Blood bank", Role.INTERFACE, frozenset({WARD_ID}))
"""The laboratory's program: it registers patients and hands units over."""

SET_UP: Final = Actor("demo", "Demonstration", Role.ADMINISTRATOR, None)
"""Sets the ward up before anybody works on it."""


def actor_named(key: str) -> Actor:
    """The actor of a member of staff, or the blood bank."""
    return BLOOD_BANK if key == BLOOD_BANK.id else PEOPLE[key].actor
