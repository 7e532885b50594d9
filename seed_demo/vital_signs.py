"""Vital signs of invented people: each has usual ones, and every set differs a little."""

from dataclasses import dataclass

from seed_demo.chance import between
from server.domain.payloads import Observed
from server.domain.words import Consciousness

_ADULT = {"pulse": (66, 90), "respirations": (13, 18), "systolic": (108, 142)}
_CHILD = {"pulse": (92, 112), "respirations": (20, 26), "systolic": (92, 106)}


@dataclass(frozen=True, slots=True)
class Body:
    """Whose signs they are: `key` is the patient's, `is_child` under school age."""

    seed: int
    key: str
    is_child: bool = False

    def set_at(self, moment: object) -> Observed:
        """A full set; the same patient, moment and seed give the same set."""
        systolic = self._near("systolic", 6, moment)
        return Observed(
            temperature_c=round(self._usual("temperature", 36.3, 37.0) + self._warmth(moment), 1),
            pulse_per_min=self._near("pulse", 5, moment),
            respirations_per_min=self._near("respirations", 1, moment),
            systolic_mmhg=systolic,
            diastolic_mmhg=round(systolic * self._usual("diastolic", 0.57, 0.63)),
            spo2_percent=round(between(95.6, 99.4, self.seed, self.key, "spo2", moment)),
            on_oxygen=False,
            consciousness=Consciousness.ALERT,
        )

    def _warmth(self, moment: object) -> float:
        return between(-0.15, 0.35, self.seed, self.key, "warmth", moment)

    def _near(self, sign: str, spread: float, moment: object) -> int:
        low, high = (_CHILD if self.is_child else _ADULT)[sign]
        drift = between(-spread, spread, self.seed, self.key, sign, moment)
        return round(self._usual(sign, low, high) + drift)

    def _usual(self, sign: str, low: float, high: float) -> float:
        return between(low, high, self.seed, self.key, sign)
