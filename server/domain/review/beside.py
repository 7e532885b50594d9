"""A ward's own figures that published ones may stand beside, counted as nearly alike as can be."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from server.domain.review.audits import Measure
from server.domain.review.rates import Tally
from server.domain.review.share import Share
from server.domain.words import ClockName

_KEPT: Final = {
    Measure.BASELINE_KEPT: ClockName.BASELINE_CHECK,
    Measure.FIRST_CHECK_KEPT: ClockName.FIRST_CHECK,
    Measure.END_CHECK_KEPT: ClockName.END_CHECK,
}


@dataclass(frozen=True, slots=True)
class Figures:
    """What a ward's own figures are taken from.

    `tallies` are those of all limits of a period, `at_night` of units that were started at night.
    `routine_at_night` counts routine units that were, of all routine ones; `reassessed` counts red
    cell units after which the patient was reassessed before the next as met.
    """

    tallies: Mapping[ClockName, Tally]
    at_night: Mapping[ClockName, Tally]
    routine_at_night: Share
    reassessed: Tally

    def own(self, measure: Measure) -> Share:
        """The ward's own figure of a measure."""
        kept = _KEPT.get(measure)
        if kept is not None:
            return _met(self.tallies.get(kept))
        if measure is Measure.END_CHECK_KEPT_AT_NIGHT:
            return _met(self.at_night.get(ClockName.END_CHECK))
        if measure is Measure.START_LATE:
            return _not_met(self.tallies.get(ClockName.START))
        if measure is Measure.FINISH_LATE_AT_NIGHT:
            return _not_met(self.at_night.get(ClockName.FINISH))
        if measure is Measure.STARTED_AT_NIGHT:
            return self.routine_at_night
        return _met(self.reassessed)


def _met(tally: Tally | None) -> Share:
    return Share() if tally is None else Share(tally.met, tally.owed)


def _not_met(tally: Tally | None) -> Share:
    return Share() if tally is None else Share(tally.owed - tally.met, tally.owed)
