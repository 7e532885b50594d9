"""Units for the view functions: issued at the base, baseline at 5 min, started at 10 min."""

from typing import Any

from server.domain.events import Event
from server.domain.payloads import Issued, Started
from server.domain.picture import Case
from tests.domain.builders import FULL, Fact, case


def running(*facts: Fact | Event, rate: float = 60, **fields: Any) -> Case:
    """A unit of 280 mL that runs; further fields are those of the request."""
    return case((0, Issued()), (5, FULL), (10, Started(rate)), *facts, **fields)
