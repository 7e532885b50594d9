"""Everybody who works in the invented hospital; one of each kind can sign in on every ward."""

from collections.abc import Iterator, Sequence
from itertools import product
from typing import Final

from seed_demo.names import FAMILY, GIVEN
from seed_demo.staff import PASSWORD
from seed_demo.year.lots import lots
from seed_demo.year.rota import Pool
from seed_demo.year.wards import WardPlan
from server.domain.words import Role
from server.services.enter_staff import StaffDraft

CHARGES: Final = 4
POOL: Final = 2
"""How many times the nurses of a day and a night together a ward employs."""

MANAGER_ID: Final = "manager"
MANAGER: Final = StaffDraft(
    MANAGER_ID, "Perpetua Lindqvist-Oyelowo", Role.MANAGER, None, "manager", PASSWORD
)
ADMINISTRATOR: Final = StaffDraft(
    "admin", "Teodor Havelka", Role.ADMINISTRATOR, None, "admin", PASSWORD
)


def pool_of(ward: WardPlan) -> Pool:
    """The ids of those who take turns on a ward."""
    count = POOL * (ward.by_day + ward.by_night)
    charges = [f"{ward.id}-charge-{n}" for n in range(1, CHARGES + 1)]
    return Pool(
        charges, [f"{ward.id}-{n}" for n in range(1, count + 1)], ward.by_day, ward.by_night
    )


def everybody(wards: Sequence[WardPlan], seed: int) -> Iterator[StaffDraft]:
    """The manager and the administrator of all wards, then the people of each ward."""
    yield MANAGER
    yield ADMINISTRATOR
    names = [f"{given} {family}" for given, family in product(GIVEN, FAMILY)]
    lots(seed, "names").shuffle(names)
    unused = iter(names)
    for ward in wards:
        pool = pool_of(ward)
        for staff_id in pool.charges:
            yield _drafted(ward, staff_id, next(unused), Role.CHARGE_NURSE, pool.charges[0])
        for staff_id in pool.nurses:
            yield _drafted(ward, staff_id, next(unused), Role.BEDSIDE_NURSE, pool.nurses[0])


def _drafted(ward: WardPlan, staff_id: str, name: str, role: Role, signs_in: str) -> StaffDraft:
    """The first of each kind on a ward signs in: `charge-harbour`, `nurse-harbour`."""
    if staff_id != signs_in:
        return StaffDraft(staff_id, name, role, frozenset({ward.id}))
    kind = "charge" if role is Role.CHARGE_NURSE else "nurse"
    sign_in_name = f"{kind}-{ward.id}"
    return StaffDraft(staff_id, name, role, frozenset({ward.id}), sign_in_name, PASSWORD)
