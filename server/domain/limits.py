"""Bounds of the possible, for refusing slips of the finger; not clinical limits.

Project defaults, set wider than anything seen in a living adult or child; what is merely
implausible is asked about on the screen, not refused here.
"""

from typing import Final

VOLUME_ML: Final = (1.0, 10_000.0)  # several units charted as one row reach two litres
GIVEN_ML: Final = (0.0, 10_000.0)
RATE_ML_H: Final = (0.0, 10_000.0)  # a rapid infuser; 0 is a clamp that is closed
FLUSH_ML: Final = (0.0, 1_000.0)
DROPS_PER_ML: Final = (1, 100)
WEIGHT_KG: Final = (0.2, 500.0)
DURATION_MINUTES: Final = (1, 1_440)
UNITS: Final = (1, 40)
TEMPERATURE_C: Final = (25.0, 45.0)
FAHRENHEIT_TYPED: Final = (77.0, 115.0)  # the same range in °F, where a slip of the unit lands
PULSE_PER_MIN: Final = (0, 350)
RESPIRATIONS_PER_MIN: Final = (0, 120)
SYSTOLIC_MMHG: Final = (0, 350)
DIASTOLIC_MMHG: Final = (0, 250)
SPO2_PERCENT: Final = (0, 100)
COUNTED: Final = 10**15  # a whole number beyond this is not repeated in a refusal
SHORT_TEXT: Final = 200
SCAN: Final = 1_000  # characters of one read; the longest symbol of a label holds some hundreds
LONG_TEXT: Final = 4_000
LIST_ITEMS: Final = 50
