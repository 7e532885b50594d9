"""Units as the invented blood bank labels them.

Facility A9990 and its like are reserved for validation (ICCBBA ST-001): no real unit bears them.
"""

from datetime import datetime, timedelta
from typing import Final

from seed_demo.chance import between
from server.domain.payloads import Issued
from server.domain.request import Patient
from server.domain.words import Component

_KEEPS: Final = {
    Component.RED_CELLS: timedelta(days=12),
    Component.PLATELETS: timedelta(days=2),
    Component.PLASMA: timedelta(hours=23),
    Component.CRYOPRECIPITATE: timedelta(hours=5),
    Component.GRANULOCYTES: timedelta(hours=19),
    Component.WHOLE_BLOOD: timedelta(days=9),
}
"""How long after the hand-over a unit's label still lets it be given. Invented figures."""

_PRODUCTS: Final = {
    Component.RED_CELLS: "A0010",
    Component.PLATELETS: "A0020",
    Component.PLASMA: "A0030",
    Component.CRYOPRECIPITATE: "A0040",
    Component.GRANULOCYTES: "A0050",
    Component.WHOLE_BLOOD: "A0060",
}
"""Codes of the invented blood bank's own: those that begin with A are for national and local use
(ISBT 128, from memory), and no licensed table is needed to read them."""

VOLUMES_ML: Final = {
    Component.RED_CELLS: (255, 300),
    Component.PLATELETS: (270, 330),
    Component.PLASMA: (240, 285),
    Component.CRYOPRECIPITATE: (160, 210),
    Component.GRANULOCYTES: (220, 260),
    Component.WHOLE_BLOOD: (430, 470),
}


def handed_over(
    seed: int, episode_id: str, component: Component, patient: Patient, removed_at: datetime
) -> Issued:
    """What the label of the unit says, and when it left controlled storage."""
    serial = round(between(100_000, 999_999, seed, episode_id, "serial"))
    expires = removed_at + _KEEPS[component]
    return Issued(
        removed_at=removed_at,
        unit_number=f"A9990{removed_at:%y}{serial}",
        product_code=_PRODUCTS[component],
        division="00",
        blood_group=patient.blood_group,
        expires_at=expires.replace(minute=59, second=0),
    )
