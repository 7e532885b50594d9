"""Prompts in words: always "Pause and assess", the numbers, and the criterion."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import tzinfo
from typing import Final

from server.domain.baseline import Before
from server.domain.news2 import tenths
from server.domain.prompts import RISEN, Appeared, Changed, Prompt, Reached
from server.domain.wording import figure, wall_time

PAUSE: Final = "Pause and assess"
_CHILD: Final = "prompt.systolic_drop_child_percent"
_BELOW: Final = "prompt.spo2_percent"
_WORDS: Final[Mapping[str, str]] = {
    "temperature_c": "temperature",
    "systolic_mmhg": "systolic pressure",
    "pulse_per_min": "pulse",
    "respirations_per_min": "respirations",
    "spo2_percent": "SpO₂",
}


def plain(slug: str) -> str:
    """Answer the words of a symptom as it is stored."""
    return slug.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Voice:
    """How prompts are said: the ward's zone, °C or °F, and the words for a symptom."""

    zone: tzinfo
    fahrenheit: bool = False
    words: Callable[[str], str] = plain

    def figure(self, field: str, value: float) -> str:
        """A value with its unit."""
        return figure(field, value, fahrenheit=self.fahrenheit)

    def difference(self, field: str, value: float) -> str:
        """A difference of two values with its unit."""
        if field == "temperature_c" and self.fahrenheit:
            return f"{value * 9 / 5:.1f} °F"
        return self.figure(field, value)


def prompt_text(prompt: Prompt, voice: Voice) -> str:
    """Answer a prompt in one sentence, with the numbers."""
    return f"{PAUSE}: {_say(prompt, voice)}."


def _say(prompt: Prompt, voice: Voice) -> str:
    if isinstance(prompt, Reached):
        return _reached(prompt, voice)
    if isinstance(prompt, Changed):
        return _changed(prompt, voice)
    return _appeared(prompt, voice)


def _reached(prompt: Reached, voice: Voice) -> str:
    field, limit = prompt.field, voice.figure(prompt.field, prompt.limit)
    reached = f"below {limit}" if prompt.rule == _BELOW else f"{limit} or more"
    was = "" if prompt.before is None else f", {_was(field, prompt.before, voice)}"
    return f"{_WORDS[field]} {voice.figure(field, prompt.value)} ({reached}){was}"


def _changed(prompt: Changed, voice: Voice) -> str:
    field, value = prompt.field, prompt.value
    change = abs(tenths(value) - tenths(prompt.before.value)) / 10
    moved = "risen" if prompt.direction == RISEN else "fallen"
    by = f"{moved} by {voice.difference(field, change)} ({_criterion(prompt, voice)})"
    was = _was(field, prompt.before, voice)
    return f"{_WORDS[field]} {voice.figure(field, value)}, {by} from {was}"


def _appeared(prompt: Appeared, voice: Voice) -> str:
    since = "new"
    if prompt.before is not None:
        since = f"new since {wall_time(prompt.before.at, voice.zone)}"
    return f"{voice.words(prompt.what)}, {since}"


def _criterion(prompt: Changed, voice: Voice) -> str:
    if prompt.rule == _CHILD:
        return f"more than {prompt.limit:g} % in a child"
    return f"{voice.difference(prompt.field, prompt.limit)} or more"


def _was(field: str, before: Before, voice: Voice) -> str:
    return f"{voice.figure(field, before.value)} at {wall_time(before.at, voice.zone)}"
