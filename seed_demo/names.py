"""Names for the patients who come during a simulated shift; the pairs are drawn by lot."""

from typing import Final

FAMILY: Final = (
    "Abernethy-Osei", "Alvarado", "Anyanwu", "Bjørnstad", "Brzezińska", "Castellanos", "Chaudhuri",
    "Dà Silveira", "Drummond", "Eszterházy-Kun", "Fa'asavalu", "Fitzwarren", "Gündoğan", "Hakaraia",
    "Hollingsworth", "Ibáñez", "Jürgensen", "Kalani", "Kovačević", "Lê", "Lindqvist", "MacAskill",
    "Mbatha", "Ng", "O'Shaughnessy", "Oduya", "Papadimitriou", "Pemberton-Rao", "Quispe", "Rautio",
    "Sørbø", "Szymańska", "Tawhai", "Tremblay", "Ueda", "Venkataraman-Pillai", "Wu", "Yıldız",
    "Zoë-Marchand", "Żak",
)  # fmt: skip

GIVEN: Final = (
    "Aoife", "Ari", "Beatriz", "Bláthnaid", "Chidi", "Dagný", "Elif", "Emeka", "Faye", "Fjóla",
    "Gwendolyn", "Hana", "Hinemoa", "Iñaki", "Ioana", "Jarek", "Jo", "Kahu", "Kwame", "Lữ",
    "Magnús", "Maximiliana", "Mere", "Nils", "Núria", "Oluwaseun", "Ondřej", "Paloma", "Quentin",
    "Ravi", "Saoirse", "Sigrún", "Tāne", "Ulla", "Viktória", "Wirihana", "Xander", "Ying", "Zainab",
    "Zdeněk",
)  # fmt: skip
