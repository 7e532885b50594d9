"""The patients who lie on the ward when the demonstration begins, all invented."""

from dataclasses import dataclass
from typing import Final

from server.domain.words import BloodGroup


@dataclass(frozen=True, slots=True)
class Lying:
    """A patient; `born` is years and days before the day of the demonstration."""

    key: str
    family_name: str
    given_name: str
    born: tuple[int, int]
    blood_group: BloodGroup
    weight_kg: float
    pregnant: bool | None = None
    overload_risks: tuple[str, ...] = ()
    spo2_scale: int | None = None


def _all() -> tuple[Lying, ...]:
    group = BloodGroup
    return (
        Lying("p01", "Featherstonehaugh-Abernathy", "Wilhelmina", (71, 40), group.O_POS, 62.0),
        Lying("p02", "Li", "Bo", (38, 200), group.B_POS, 58.5),
        Lying("p03", "Dvořáčková", "Žofie", (54, 12), group.A_POS, 69.0),
        Lying("p04", "Ångström-Kjær", "Søren", (66, 301), group.O_POS, 88.0),
        Lying("p05", "Oyelaran", "Temitope", (29, 88), group.O_NEG, 71.5, pregnant=False),
        Lying("p06", "Ó Dálaigh", "Caoimhe", (47, 150), group.A_NEG, 64.0),
        Lying("p07", "Marchetti", "Ottavio", (59, 220), group.A_POS, 92.0),
        Lying("p08", "Rangihuna-Pike", "Hēmi", (33, 5), group.O_POS, 84.0),
        Lying("p09", "Pfützenreuter", "Jörg", (63, 77), group.AB_POS, 79.0),
        Lying("p10", "Ek", "Ia", (81, 9), group.A_POS, 49.5),
        Lying(
            "p11",
            "Bellweather",
            "Cornelius",
            (86, 133),
            group.O_POS,
            57.0,
            overload_risks=("heart failure", "over 70 years"),
            spo2_scale=2,
        ),
        Lying("p12", "Şahinoğlu", "Gülşen", (44, 260), group.B_NEG, 66.0),
        Lying("p13", "Trevanion", "Loveday", (36, 180), group.A_POS, 73.0, pregnant=True),
        Lying("p14", "Nguyễn", "Thanh Hà", (52, 31), group.O_POS, 51.0),
        Lying("p15", "Wojciechowska-Brzęczyszczykiewicz", "Małgorzata", (58, 99), group.A_POS, 68),
        Lying("p16", "Tamahori-Lisle", "Ada", (4, 61), group.O_POS, 15.4),
        Lying("p17", "Quill", "Barnaby", (74, 290), group.B_POS, 80.0),
        Lying("p18", "Mbeki-Stone", "Nomvula", (49, 17), group.O_POS, 77.0),
        Lying("p19", "Halvorsen", "Ragnhild", (68, 345), group.A_NEG, 60.5),
        Lying("p20", "de la Cruz-Etxeberria", "Íñigo", (41, 111), group.AB_NEG, 83.0),
    )


PATIENTS: Final = {patient.key: patient for patient in _all()}
