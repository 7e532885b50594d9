"""What a use case says when it does not do what was asked."""

from collections.abc import Sequence

from server.domain.events import Event
from server.domain.request import Request


class NotFound(Exception):
    """There is no such thing; `what` names it without a patient's data."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} was not found")
        self.what = what


class Forbidden(Exception):
    """The actor's role or wards do not allow it."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class Unreadable(Exception):
    """What is recorded of a unit cannot be read or followed; `unit` is its request."""

    def __init__(self, unit: Request) -> None:
        super().__init__("what is recorded of this unit cannot be read; nothing was recorded")
        self.unit = unit


class Damaged(Exception):
    """The row of a request cannot be read whole; `fields` are those in which the damage is."""

    def __init__(self, fields: Sequence[str]) -> None:
        super().__init__(f"its request is damaged in: {', '.join(fields)}")
        self.fields = tuple(fields)


class StaleRevision(Exception):
    """The episode has changed since it was looked at; `revision` is the present one."""

    def __init__(self, revision: int) -> None:
        super().__init__(f"the episode has changed; its revision is {revision}")
        self.revision = revision


class Overtaken(Exception):
    """Somebody else recorded the same meanwhile; `events` are what they recorded."""

    def __init__(self, events: Sequence[Event]) -> None:
        super().__init__("somebody else recorded the same meanwhile")
        self.events = tuple(events)


class Conflict(Exception):
    """It clashes with what is already there."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why
