"""An identity check as it stands for one reader: what is theirs to do now."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.identity_check import CheckState, left
from server.domain.identity_reading import Item, Reading
from server.domain.words import Phase
from server.services.actor import Actor
from server.services.permissions import Act, may
from server.services.read_identity import IdentityRead
from server.store.identity_checks import IdentityCheck

NEW: Final = "new"


@dataclass(frozen=True, slots=True)
class Seen:
    """A check, whose session it is seen in, and who reads it.

    `begins` shows a check that has ended as one that begins again.
    """

    look: IdentityRead
    visitor: Actor
    reader: Actor
    begins: bool = False

    @property
    def check(self) -> IdentityCheck | None:
        """The check that is shown, None for one that begins."""
        return None if self.begins else self.look.check

    @property
    def state(self) -> str:
        """`new`, or the state of the check."""
        return NEW if self.check is None or self.look.state is None else self.look.state.value

    @property
    def runs(self) -> bool:
        """Whether the check is open."""
        return self.state == CheckState.OPEN

    @property
    def mine(self) -> Sequence[Reading]:
        """What the reader has read."""
        return () if self.begins else self.look.mine

    @property
    def theirs(self) -> Sequence[Reading]:
        """What the other person read, empty before its time."""
        return () if self.begins else self.look.theirs

    @property
    def remaining(self) -> tuple[Item, ...]:
        """What the reader has still to read."""
        return left(self.look.form, self.mine)

    @property
    def event_id(self) -> str | None:
        """The fact that the check came to."""
        return None if self.check is None else self.check.event_id

    def has_matched_with(self, check_id: str, readings: Sequence[Reading]) -> bool:
        """Whether these very readings ended that check: they were sent twice."""
        is_matched = self.check is not None and self.state == CheckState.MATCHED
        is_same = self.check is not None and self.check.id == check_id
        return is_matched and is_same and all(one in self.mine for one in readings)

    @property
    def charts(self) -> bool:
        """Whether the person of the session may chart on the ward."""
        return may(self.visitor, Act.CHART, self.look.read.ward.id)

    @property
    def is_issued(self) -> bool:
        """Whether the unit is in the phase in which identity is checked."""
        return self.look.read.picture.episode.phase is Phase.ISSUED

    @property
    def takes_part(self) -> bool:
        """Whether the reader is one of the two."""
        return self.check is not None and self.reader.staff_id in self.check.people

    @property
    def may_join(self) -> bool:
        """Whether a second person is wanted and the reader is not the first."""
        if self.check is None or self.takes_part:
            return False
        return self.check.second_by is None and self.look.checkers > 1

    @property
    def reads(self) -> bool:
        """Whether the reader has something to read now."""
        has_place = self.state == NEW or (self.runs and (self.takes_part or self.may_join))
        return self.charts and self.is_issued and has_place and bool(self.remaining)

    @property
    def waits(self) -> bool:
        """Whether the reader has read everything and somebody else has not."""
        return self.runs and self.takes_part and not self.remaining

    @property
    def wants_second(self) -> bool:
        """Whether nobody has come as the second person yet."""
        return self.waits and self.check is not None and self.check.second_by is None

    @property
    def other(self) -> str:
        """Who else takes part, empty where nobody does."""
        people = () if self.check is None else self.check.people
        names = [self.look.names[one] for one in people if one != self.reader.staff_id]
        return " and ".join(names)

    @property
    def other_left(self) -> int:
        """How many items the other person has still to read."""
        return sum(n for person, n in self.look.left.items() if person != self.reader.staff_id)
