"""What this ward does when a reaction is suspected, in order. Invented local wording."""

from typing import Final

STEPS: Final = (
    "transfusion stopped, line kept open with saline through a new set",
    "airway, breathing and circulation assessed, doctor called",
    "identity of patient and unit checked again",
    "bag inspected",
    "laboratory told",
    "blood and urine samples sent",
    "bag and set returned to the laboratory",
    "written up in the notes",
)
