"""How thorough a run is."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Options:
    """`quick`: a tenth of the work, to see that everything runs; its ratios prove little."""

    quick: bool = False

    def rounds(self, full: int) -> int:
        """How many rounds of turns; never fewer than three."""
        return max(3, full // 5) if self.quick else full

    def times(self, full: int) -> int:
        """How often something small is done in one turn."""
        return max(1, full // 4) if self.quick else full

    def size(self, full: int) -> int:
        """How many there are of something."""
        return full // 10 if self.quick else full
