"""What the domain says when it cannot accept something."""

from server.domain.words import Phase


class Invalid(ValueError):
    """A value that cannot be: names the field and what was expected."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(f"{field}: {message}")
        self.field = field
        self.message = message


class Refused(Exception):
    """A step that the episode's phase or the local policy does not allow.

    `phase` is the phase in which the step was refused, `field` the field of the form that the
    reason belongs to, where there is one.
    """

    def __init__(self, reason: str, *, phase: Phase, field: str = "kind") -> None:
        super().__init__(reason)
        self.reason = reason
        self.phase = phase
        self.field = field
