"""Invariants: what has to be so for the board to be relied on, judged from plain figures."""

from server.domain.invariants.finding import Finding, Patience, Standing
from server.domain.invariants.process import JobRun, Process
from server.domain.invariants.said import SAID, Said
from server.domain.invariants.words import Invariant

__all__ = ["SAID", "Finding", "Invariant", "JobRun", "Patience", "Process", "Said", "Standing"]
