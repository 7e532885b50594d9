"""What a route shows of patients: said beside the route, noted after every answer of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from server.domain.audit import Subject, SubjectKind

Endpoint = TypeVar("Endpoint", bound=Callable[..., Any])

SHOWN: Final = "shown"
# The name under which whoever finds out who asks tells it to whoever notes the look.
ASKED_BY: Final = "asked_by"
# The name under which a refusal that shows something of a unit all the same tells its request.
SHOWN_ANYWAY: Final = "shown_anyway"


@dataclass(frozen=True, slots=True)
class Shows:
    """The kind of thing that a route shows.

    `of` names the part of the address that holds its id, `ward` the one that holds the ward;
    both None: whatever there is of it on the wards of whoever asks.
    """

    kind: SubjectKind
    of: str | None = None
    ward: str | None = None

    def named(self, asked: Mapping[str, str]) -> tuple[Subject, str | None]:
        """The thing and the ward that an address asks for."""
        subject = Subject(self.kind, asked.get(self.of) if self.of else None)
        return subject, asked.get(self.ward) if self.ward else None


def shows(
    kind: SubjectKind, of: str | None = None, *, ward: str | None = None
) -> Callable[[Endpoint], Endpoint]:
    """Say of a route what it shows of patients; a test asks every route that answers a look."""

    def say(endpoint: Endpoint) -> Endpoint:
        setattr(endpoint, SHOWN, Shows(kind, of, ward))
        return endpoint

    return say


def shows_no_patient(endpoint: Endpoint) -> Endpoint:
    """Say of a route that nothing in its answer is a patient's."""
    setattr(endpoint, SHOWN, None)
    return endpoint


def shown_by(endpoint: object) -> Shows | None:
    """Answer what a route shows of patients, None for one that shows none."""
    said: Shows | None = getattr(endpoint, SHOWN, None)
    return said
