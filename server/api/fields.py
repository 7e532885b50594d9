"""The types of fields: what may stand in a body, with its bounds, and nothing else."""

from typing import Annotated, Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from server.domain import limits, words

ID_PATTERN: Final = r"^[A-Za-z0-9._:-]{1,80}$"
# No control characters, and something to read: neither Python, ECMAScript nor Rust disagree on it.
LINE_PATTERN: Final = r"^[^\x00-\x1F\x7F-\x9F]*[^\x00-\x20\x7F-\xA0][^\x00-\x1F\x7F-\x9F]*$"
SHIFT_PATTERN: Final = r"^(none|[0-2][0-9]:[0-5][0-9]-[0-2][0-9]:[0-5][0-9])$"
TEXT_PATTERN: Final = (
    r"^[^\x00-\x08\x0B\x0C\x0E-\x1F\x7F-\x9F]*[^\x00-\x20\x7F-\xA0]"
    r"[^\x00-\x08\x0B\x0C\x0E-\x1F\x7F-\x9F]*$"
)
LAST_REVISION: Final = 2**53 - 1  # the last whole number that every JSON reader keeps exactly


class Strict(BaseModel):
    """A body: no field it does not name, and no value turned from one type into another."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True)


class Asked(BaseModel):
    """What an address asks for after its question mark; a name it does not know is refused."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True)


class Given(BaseModel):
    """An answer. It is made of values that were checked before."""

    model_config = ConfigDict(frozen=True)


def within(bounds: tuple[float, float]) -> Any:
    """The bounds of a number, both included."""
    low, high = bounds
    return Field(ge=low, le=high)


def _whole(given: Any) -> Any:
    """JSON has one kind of number: 2.0 is the whole number 2, and 2.5 is none."""
    return int(given) if isinstance(given, float) and given.is_integer() else given


WHOLE: Final = BeforeValidator(_whole)

Id = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
OrderId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9._:-]{1,76}$")]
Line = Annotated[
    str, StringConstraints(min_length=1, max_length=limits.SHORT_TEXT, pattern=LINE_PATTERN)
]
Ref = Line
"""The id of something that exists; records read in from elsewhere brought ids of their own."""
Text = Annotated[
    str, StringConstraints(min_length=1, max_length=limits.LONG_TEXT, pattern=TEXT_PATTERN)
]
Lines = Annotated[list[Line], Field(max_length=limits.LIST_ITEMS)]
VolumeMl = Annotated[float, within(limits.VOLUME_ML)]
GivenMl = Annotated[float, within(limits.GIVEN_ML)]
DropsPerMl = Annotated[int, within(limits.DROPS_PER_ML), WHOLE]
RateMlH = Annotated[float, within(limits.RATE_ML_H)]
Revision = Annotated[int, Field(ge=0, le=LAST_REVISION), WHOLE]

# A strict model takes no text for a word of the trade; here the text is the word.
WORD: Final[Any] = Field(strict=False)
Component = Annotated[words.Component, WORD]
Priority = Annotated[words.Priority, WORD]
BloodGroup = Annotated[words.BloodGroup, WORD]
Consciousness = Annotated[words.Consciousness, WORD]
ClockName = Annotated[words.ClockName, WORD]
Confirmation = Annotated[words.Confirmation, WORD]
Fate = Annotated[words.Fate, WORD]
Recheck = Annotated[words.Recheck, WORD]
Role = Annotated[words.Role, WORD]
Stage = Annotated[words.Stage, WORD]
