"""Who is asking: a person who signed in, or a program with a token."""

from dataclasses import dataclass, field

from server.domain.words import Role


@dataclass(frozen=True, slots=True)
class Actor:
    """Somebody with a role; `wards` None means every ward.

    `staff_id` is set for a person, None for a program: what a program records, it records for
    whoever its message names. `access_id` names the session or token they came with and opens
    nothing; it tells nobody apart.
    """

    id: str
    name: str
    role: Role
    wards: frozenset[str] | None
    staff_id: str | None = None
    access_id: str | None = field(default=None, compare=False)

    def is_on(self, ward_id: str) -> bool:
        """Whether the ward is one of theirs."""
        return self.wards is None or ward_id in self.wards

    def is_on_all(self, wards: frozenset[str] | None) -> bool:
        """Whether all of these wards are theirs; None means every ward."""
        return self.wards is None or (wards is not None and wards <= self.wards)


SYSTEM = Actor("system", "Fourth Hour", Role.INTERFACE, None)
AT_THE_COMMAND_LINE = Actor("command-line", "Command line", Role.ADMINISTRATOR, None)
