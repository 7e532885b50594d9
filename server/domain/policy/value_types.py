"""What a policy value may be: its unit, its bounds, and the typed value it becomes."""

import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from datetime import time, timedelta
from enum import StrEnum

from server.domain.policy.typed import PlainValue

WALL_TIME = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


class Unfit(ValueError):
    """A value that its type does not accept; `ValueType.expected` says what it accepts."""


@dataclass(frozen=True, slots=True)
class ValueType(ABC):
    """A kind of value with its unit; `read` and `typed` raise `Unfit`."""

    unit: str

    @property
    @abstractmethod
    def expected(self) -> str:
        """What is accepted, in words, for the message of a refusal."""

    @abstractmethod
    def read(self, raw: object) -> PlainValue:
        """Check a value from a file and give it in the plain form that screens and JSON show."""

    def typed(self, raw: object) -> object:
        """Check a value and turn it into the type that `Policy` holds."""
        return self.read(raw)


@dataclass(frozen=True, slots=True)
class Whole(ValueType):
    """A whole number with bounds, both included."""

    low: int
    high: int

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return f"a whole number of {self.unit} from {self.low} to {self.high}"

    def read(self, raw: object) -> int:
        """Check that it is a whole number within its bounds."""
        if isinstance(raw, bool) or not isinstance(raw, int) or not self.low <= raw <= self.high:
            raise Unfit
        return raw


@dataclass(frozen=True, slots=True)
class Minutes(Whole):
    """A length of real elapsed time in whole minutes."""

    def typed(self, raw: object) -> timedelta:
        """Become a `timedelta`."""
        return timedelta(minutes=self.read(raw))


@dataclass(frozen=True, slots=True)
class PartOfAnHour(Minutes):
    """Whole minutes that divide an hour, so that a grid of them begins anew with each hour."""

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return f"a whole number of {self.unit} from {self.low} to {self.high} that divides 60"

    def read(self, raw: object) -> int:
        """Check that an hour holds a whole number of them."""
        value = Minutes.read(self, raw)
        if 60 % value:
            raise Unfit
        return value


@dataclass(frozen=True, slots=True)
class Hours(Whole):
    """A length of real elapsed time in whole hours."""

    def typed(self, raw: object) -> timedelta:
        """Become a `timedelta`."""
        return timedelta(hours=self.read(raw))


@dataclass(frozen=True, slots=True)
class Number(ValueType):
    """A number, with or without a fraction, with bounds, both included."""

    low: float
    high: float

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return f"a number of {self.unit} from {self.low:g} to {self.high:g}"

    def read(self, raw: object) -> float:
        """Check that it is a number within its bounds; "not a number" is in no bounds."""
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise Unfit
        if not self.low <= raw <= self.high:
            raise Unfit
        return float(raw)


@dataclass(frozen=True, slots=True)
class YesNo(ValueType):
    """True or false."""

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return self.unit

    def read(self, raw: object) -> bool:
        """Check that it is true or false."""
        if not isinstance(raw, bool):
            raise Unfit
        return raw


@dataclass(frozen=True, slots=True)
class Choice(ValueType):
    """A list of at least `least` words, each allowed and named once, in the file's order."""

    allowed: tuple[str, ...]
    least: int

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        some = "at least one of" if self.least else "any of"
        return f"a list of {some} {', '.join(self.allowed)}, each once"

    def read(self, raw: object) -> tuple[str, ...]:
        """Check that it is a list of allowed words without repeats."""
        if not isinstance(raw, list | tuple) or len(raw) < self.least:
            raise Unfit
        if any(word not in self.allowed or raw.count(word) > 1 for word in raw):
            raise Unfit
        return tuple(raw)


@dataclass(frozen=True, slots=True)
class ChoiceSet(Choice):
    """A list of words whose order means nothing."""

    def typed(self, raw: object) -> frozenset[str]:
        """Become a set of words."""
        return frozenset(self.read(raw))


@dataclass(frozen=True, slots=True)
class Word(ValueType):
    """One word of a closed set."""

    words: type[StrEnum]

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return f"one of {', '.join(self.words)}"

    def read(self, raw: object) -> str:
        """Check that it is one of the words."""
        if not isinstance(raw, str) or raw not in set(self.words):
            raise Unfit
        return raw

    def typed(self, raw: object) -> StrEnum:
        """Become a word of the set."""
        return self.words(self.read(raw))


@dataclass(frozen=True, slots=True)
class Digits(ValueType):
    """A number that is written and never counted with, `low` to `high` digits long, or none."""

    low: int
    high: int

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return f"a text of {self.low} to {self.high} {self.unit}, or an empty one"

    def read(self, raw: object) -> str:
        """Check that it is a text of so many digits, or an empty one."""
        digits = re.compile(rf"([0-9]{{{self.low},{self.high}}})?")
        if not isinstance(raw, str) or not digits.fullmatch(raw):
            raise Unfit
        return raw


@dataclass(frozen=True, slots=True)
class Phrases(ValueType):
    """A list of at least one phrase of the ward's own, each once, in the file's order."""

    most: int
    longest: int

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return f"a list of 1 to {self.most} phrases of at most {self.longest} characters, each once"

    def read(self, raw: object) -> tuple[str, ...]:
        """Check that it is a list of texts that say something, without repeats."""
        if not isinstance(raw, list | tuple) or not 1 <= len(raw) <= self.most:
            raise Unfit
        if any(not isinstance(text, str) or raw.count(text) > 1 for text in raw):
            raise Unfit
        if any(not text.strip() or len(text) > self.longest for text in raw):
            raise Unfit
        return tuple(raw)


@dataclass(frozen=True, slots=True)
class WallTime(ValueType):
    """A time of day on the ward's own clock."""

    @property
    def expected(self) -> str:
        """What is accepted, in words."""
        return 'a ward time such as "20:00"'

    def read(self, raw: object) -> str:
        """Check that it is the hours and minutes of a day."""
        if not isinstance(raw, str) or not WALL_TIME.fullmatch(raw):
            raise Unfit
        return raw

    def typed(self, raw: object) -> time:
        """Become a `time`."""
        return time.fromisoformat(self.read(raw))
