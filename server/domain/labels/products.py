"""How a product was collected, by the sixth character of its code.

Source: ICCBBA ST-001 v6.2.2 (2023), data structure 003, type of collection. The products
themselves are a licensed table that a site loads.
"""

from typing import Final

COLLECTION: Final = {
    "0": "not specified",
    "V": "volunteer, allogeneic",
    "R": "volunteer, for research",
    "S": "volunteer, source material",
    "T": "volunteer, therapeutic",
    "P": "paid, allogeneic",
    "r": "paid, for research",
    "s": "paid, source material",
    "A": "autologous, may be crossed over",
    "1": "autologous only",
    "X": "autologous only, biohazard",
    "D": "volunteer, directed, may be crossed over",
    "d": "paid, directed, may be crossed over",
    "2": "directed, for one recipient only",
    "L": "directed, for one recipient only, limited exposure",
    "E": "medical exception, for one recipient",
    "Q": "as the special-testing bar code says",
    "3": "directed, for one recipient only, biohazard",
    "4": "designated",
    "5": "dedicated",
    "6": "designated, biohazard",
    "F": "reserved for family",
    "C": "replacement",
    "7": "for allogeneic use",
    "8": "for autologous use, with allogeneic material",
    "B": "directed, dedicated or designated only",
    "H": "directed, dedicated or designated, biohazard",
    "J": "directed, dedicated or designated, may be crossed over",
    "G": "for emergencies only",
}
STOPS: Final = {
    "R": "it is for research only",
    "r": "it is for research only",
    "A": "it was collected for its donor",
    "1": "it is for its donor only",
    "X": "it is for its donor only and marked as a biohazard",
    "3": "it is marked as a biohazard",
    "6": "it is marked as a biohazard",
    "8": "it is for its donor only",
    "H": "it is marked as a biohazard",
}
