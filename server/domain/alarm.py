"""Priorities of alarm signals: one place for the word, the mark, the tone and what is said.

The three priorities and their marks are those of IEC 60601-1-8, and so is how many pulses the
tone of each has. The board is no alarm system by that standard: it borrows what people know.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final, NamedTuple

from server.domain.words import ClockState, Level


class Alarm(StrEnum):
    """How urgently something calls, the most urgent first; `NONE` does not call."""

    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    NONE = "none"


RANK: Final[Mapping[str, int]] = {alarm: place for place, alarm in enumerate(Alarm)}
MARK: Final[Mapping[str, str]] = {"high": "!!!", "medium": "!!", "low": "!", "none": ""}
WORDS: Final[Mapping[str, str]] = {
    "high": "High priority",
    "medium": "Medium priority",
    "low": "Low priority",
}
OF_STATE: Final[Mapping[ClockState, Alarm]] = {
    ClockState.OVERDUE: Alarm.HIGH,
    ClockState.DUE: Alarm.MEDIUM,
}
OF_LEVEL: Final[Mapping[Level, Alarm]] = {
    Level.REACTION: Alarm.HIGH,
    Level.PAST_LIMIT: Alarm.HIGH,
    Level.OVERDUE: Alarm.HIGH,
    Level.AT_RISK: Alarm.MEDIUM,
    Level.DUE: Alarm.MEDIUM,
    Level.SOON: Alarm.LOW,
}


class Tone(NamedTuple):
    """One burst: the pitch in Hz, how long a pulse is and when each begins, in seconds."""

    pitch_hz: int
    pulse_s: float
    starts_s: tuple[float, ...]


TONE: Final[Mapping[str, Tone]] = {
    # Three and two, and the same again.
    "high": Tone(880, 0.15, (0.0, 0.25, 0.5, 0.95, 1.2, 2.0, 2.25, 2.5, 2.95, 3.2)),
    "medium": Tone(660, 0.2, (0.0, 0.4, 0.8)),
    "low": Tone(523, 0.2, (0.0,)),
}


def announced(alarm: Alarm, bed: str, what: str, state: str, count: str) -> str:
    """Answer what is said aloud of a reminder, as `High priority: bed 4, first check overdue, …`.

    By bed alone: it is heard by whoever stands near. Raises `KeyError` for what does not call.
    """
    named = f"{what[:1].lower()}{what[1:]}"
    return f"{WORDS[alarm]}: bed {bed}, {named} {state}, {count}"
