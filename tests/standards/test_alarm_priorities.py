"""Priorities of alarm signals against IEC 60601-1-8: word, mark, colour, tone, and all that agrees.

Number of pulses (table 3), pitch (table 4) and marks are from memory of the 2006 edition; that a
high priority is three and two tones, said twice, and a medium one three, is on the pages of the
University of Sydney, Anaesthesia, "ISO/IEC 60601-1-8, Patterson and other alarms" (2010).
"""

import re
from itertools import pairwise

from server.domain.alarm import MARK, OF_LEVEL, OF_STATE, RANK, TONE, WORDS, Alarm, announced
from server.domain.words import ClockState, Level
from server.pages.rendering import environment
from server.web_files import static_folder

PULSES = {"high": (10, 10), "medium": (3, 3), "low": (1, 2)}
MARKS = {"high": "!!!", "medium": "!!", "low": "!"}
COLOURS = {"high": "red", "medium": "yellow", "low": "cyan"}
CALLING = [Alarm.HIGH, Alarm.MEDIUM, Alarm.LOW]


def test_word_mark_tone_and_rank_are_of_the_same_three_priorities() -> None:
    assert list(WORDS) == list(TONE) == list(MARKS) == CALLING
    assert {**MARKS, "none": ""} == MARK
    assert [word.split()[0].lower() for word in WORDS.values()] == CALLING
    assert sorted(RANK, key=RANK.__getitem__) == [*CALLING, Alarm.NONE]
    assert environment().globals["tones"] == {k: tone._asdict() for k, tone in TONE.items()}


def test_a_burst_has_as_many_pulses_as_its_priority_and_none_runs_into_the_next() -> None:
    for priority, (fewest, most) in PULSES.items():
        tone = TONE[priority]
        assert fewest <= len(tone.starts_s) <= most
        assert 150 <= tone.pitch_hz <= 1000
        assert all(then - first > tone.pulse_s for first, then in pairwise(tone.starts_s))


def test_a_high_priority_is_three_and_two_and_the_same_again() -> None:
    starts = TONE["high"].starts_s
    gaps = [round(then - first, 2) for first, then in pairwise(starts)]

    longest = max(gaps)
    assert gaps.index(longest) == 4
    assert gaps[:4] == gaps[5:]
    assert gaps[:2] == [min(gaps)] * 2
    assert min(gaps) < gaps[2] < longest
    assert gaps[3] == min(gaps)


def test_each_priority_has_its_colour() -> None:
    css = (static_folder() / "css" / "tokens.css").read_text("utf-8")
    found = {name: re.findall(rf"--{name}: #(\w\w)(\w\w)(\w\w);", css)[0] for name in COLOURS}
    said = {name: tuple(int(part, 16) for part in parts) for name, parts in found.items()}

    assert {name: _hue(*parts) for name, parts in said.items()} == COLOURS


def _hue(red: int, green: int, blue: int) -> str:
    if min(green, blue) > 1.5 * red:
        return "cyan"
    return "yellow" if min(red, green) > 1.5 * blue else "red"


def test_what_is_past_its_limit_calls_before_what_is_due_on_every_screen() -> None:
    assert OF_STATE == {ClockState.OVERDUE: Alarm.HIGH, ClockState.DUE: Alarm.MEDIUM}
    assert [OF_LEVEL.get(level, Alarm.NONE) for level in Level] == sorted(
        (OF_LEVEL.get(level, Alarm.NONE) for level in Level), key=RANK.__getitem__
    )


def test_a_reminder_is_said_by_its_priority_and_its_bed() -> None:
    assert announced(Alarm.HIGH, "4", "First check", "overdue", "3 min late") == (
        "High priority: bed 4, first check overdue, 3 min late"
    )
