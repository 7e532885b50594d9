"""The patients who come to a ward, all invented, and what is known of each while they lie there."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Final

from seed_demo.names import FAMILY, GIVEN
from seed_demo.year.wards import WardPlan
from server.domain.events import Event
from server.domain.request import Patient
from server.domain.words import BloodGroup, Component

CHILD: Final = (1, 15)
FRAIL_FROM: Final = 75
FRAIL: Final = 0.3

GROUPS: Final = (
    (BloodGroup.O_POS, 37),
    (BloodGroup.A_POS, 35),
    (BloodGroup.B_POS, 9),
    (BloodGroup.AB_POS, 3),
    (BloodGroup.O_NEG, 7),
    (BloodGroup.A_NEG, 6),
    (BloodGroup.B_NEG, 2),
    (BloodGroup.AB_NEG, 1),
)
"""In a hundred: about as in north-western Europe, from memory."""


@dataclass(slots=True)
class Lying:
    """A patient in a bed: until when units are under way, newest sets of signs, set on the line."""

    patient: Patient
    bed: str
    is_child: bool
    busy_until: datetime
    sets: list[Event] = field(default_factory=list)
    hung: tuple[datetime, Component] | None = None

    def keep(self, taken: list[Event], since: timedelta = timedelta(hours=30)) -> None:
        """Remember the newest sets of signs; older ones serve no unit that is still to come."""
        every = [*self.sets, *taken]
        last = max((one.happened_at for one in every), default=self.busy_until)
        self.sets = [one for one in every if one.happened_at > last - since]


def new_patient(rng: Random, ward: WardPlan, number: int, at: datetime) -> Patient:
    """Somebody who was not here before."""
    is_child = rng.random() < ward.children
    years = rng.randint(*(CHILD if is_child else ward.ages))
    frail = years >= FRAIL_FROM and rng.random() < FRAIL
    weight = 8 + 3 * years + rng.uniform(-2, 3) if is_child else rng.gauss(72, 13)
    group = rng.choices([one for one, _ in GROUPS], [weight for _, weight in GROUPS])[0]
    return Patient(
        id=f"{ward.id}-p{number:05}",
        record_number=f"{ward.records}{ward.id[:2].upper()}{number:06}",
        family_name=rng.choice(FAMILY),
        given_name=rng.choice(GIVEN),
        birth_date=(at - timedelta(days=round(365.25 * years) + rng.randint(1, 360))).date(),
        blood_group=group,
        weight_kg=round(max(7.0, min(weight, 130.0)), 1),
        overload_risks=("heart failure",) if frail else (),
    )
