"""A row of the board: what stands in it, and what a wall leaves out."""

from datetime import timedelta
from typing import Any

import pytest

from server.domain.payloads import (
    Acknowledged,
    Assigned,
    Available,
    Completed,
    Discarded,
    Issued,
    ReactionSuspected,
    Stopped,
    Warned,
)
from server.domain.picture import Case, picture
from server.domain.words import ClockName
from server.pages.counted import Moment
from server.pages.row_view import RowView, VolumeView, dom_key, row_view, wall_row
from server.pages.time_window import Window
from tests.domain.builders import FULL, at, case, with_policy
from tests.pages.units import running

WINDOW = Window(at(-60), at(340))
NAMES = {"nurse-1": "Ines", "nurse-2": "Ravi"}


def row(unit: Case, minute: float) -> RowView:
    """The row of a unit, seen at a minute."""
    return row_view(picture(unit, at(minute)), WINDOW, NAMES)


def test_row_of_a_running_unit() -> None:
    unit = running((25, FULL), rate=140, nurse_id="nurse-1", n=2, units=3)

    shown = row(unit, 50)

    assert (shown.key, shown.href, shown.bed) == ("episode-1", "/episodes/episode-1", "4")
    assert (shown.level, shown.priority, shown.mark, shown.word) == ("steady", "none", "", "Steady")
    assert (shown.family_name, shown.given_name, shown.initials) == ("Alder", "Ida", "I.A.")
    assert (shown.component, shown.place) == ("Red cells", "2 of 3")
    assert (shown.nurse_key, shown.nurse, shown.held_text) == ("nurse-1", "Ines", "")
    assert shown.volume == VolumeView(93, 280, 93.333, 140, "2026-03-03T10:50:00Z")
    assert not shown.closed


def test_reason_is_the_domains_sentence_in_pieces() -> None:
    unit = running()

    reason = "".join(part.text for part in row(unit, 40).reason)

    assert reason == picture(unit, at(40)).urgency.reason
    assert [part.kind for part in row(unit, 40).reason if part.kind] == ["ago"]


@pytest.mark.parametrize(
    ("unit", "minute", "level", "priority"),
    [
        (running((20, ReactionSuspected())), 21, "reaction", "high"),
        (running(), 245, "past_limit", "high"),
        (running(), 40, "overdue", "high"),
        (running((25, FULL), (80, FULL), rate=60), 90, "at_risk", "medium"),
        (running(rate=140), 27, "due", "medium"),
        (running(rate=140), 20, "soon", "low"),
        (running((25, FULL), rate=140), 40, "steady", "none"),
        (case((0, Available())), 5, "waiting", "none"),
        (case((0, Issued()), (5, Discarded("broken"))), 9, "closed", "none"),
    ],
)
def test_priority_of_each_level(unit: Case, minute: int, level: str, priority: str) -> None:
    shown = row(unit, minute)

    assert (shown.level, shown.priority) == (level, priority)
    assert shown.mark == {"high": "!!!", "medium": "!!", "low": "!", "none": ""}[priority]


@pytest.mark.parametrize(
    ("unit", "minute", "act", "moment"),
    [
        (running(), 40, "First check: observations", (25, 30, "due", "15 min late", True)),
        (running(), 245, "End the unit", (240, 240, "limit", "5 min late", True)),
        (
            running((25, FULL), (80, FULL), rate=60),
            90,
            "Needs 80 to 300 mL/h",
            (240, 240, "limit", "limit in 2 h 30", False),
        ),
        (
            running((25, FULL), (80, FULL), rate=60, max_rate_ml_h=80.0),
            90,
            "Needs 80 mL/h",
            (240, 240, "limit", "limit in 2 h 30", False),
        ),
        (
            running(*((minute, FULL) for minute in (25, 80, 135, 190)), rate=10),
            200,
            "Part of the unit stays in the bag",
            (240, 240, "limit", "limit in 40 min", False),
        ),
        (
            case((0, Issued()), max_rate_ml_h=75.0),
            20,
            "Start, or send back",
            (240, 240, "limit", "limit in 3 h 40", False),
        ),
        (
            case((0, Issued())),
            31,
            "Start, or discard",
            (30, 30, "due", "1 min late", True),
        ),
        (running(rate=140), 27, "First check: observations", (25, 30, "due", "2 min ago", False)),
        (case(wanted_by=at(65)), 5, "Not ready yet", (65, None, "until", "in 1 h 00", False)),
        (case((0, Available())), 5, "May be called for", None),
        (case((0, Issued()), (5, Discarded("broken"))), 9, "", None),
    ],
)
def test_what_is_next(unit: Case, minute: int, act: str, moment: Any) -> None:
    shown = row(unit, minute)

    assert shown.act == act
    assert shown.moment == (moment and _moment(*moment))


def test_reaction_counts_to_the_next_observations_or_from_its_beginning() -> None:
    stopped = (20, ReactionSuspected()), (20, Stopped("rigor"))

    none = with_policy(reaction_every=timedelta(0))

    owed = row(running(*stopped), 22)
    done = row(running(*stopped, (21, FULL)), 24)
    uncounted = row(running(*stopped, (21, FULL), policy=none), 24)

    assert (owed.act, done.act) == ("Follow the reaction pathway", "Follow the reaction pathway")
    assert owed.moment == _moment(20, 25, "due", "2 min ago", late=False)
    assert done.moment == _moment(36, 41, "due", "in 12 min", late=False)
    assert uncounted.moment == _moment(20, None, "ago", "4 min ago", late=False)


def test_a_closed_row_that_is_warned_of_stands_among_the_open_ones() -> None:
    gone = ((0, Issued()), (5, Discarded("broken")))
    given, warned = case(*gone), case(*gone, (8, Warned("e9", "7")))

    assert [row(unit, 9).closed for unit in (given, warned)] == [True, False]


def test_a_warning_is_a_mark_that_leaves_the_reason_of_the_row_as_it_is() -> None:
    given = running()
    warned = running((8, Warned("e9", "7")), (9, Warned("e8", "12")))

    assert [row(unit, 9).warned for unit in (given, warned)] == ["", "identity error, bed 7, 12"]
    assert row(warned, 9).reason == row(given, 9).reason


def test_row_says_who_has_it() -> None:
    said = (28, Acknowledged(ClockName.FIRST_CHECK, "nurse-2"))

    assert row(running(said), 31).held_text == "Ravi has it"
    assert row(running((5, Acknowledged(ClockName.FIRST_CHECK, "nurse-2"))), 31).held_text == ""
    assert row(running((28, Acknowledged(ClockName.FINISH, "nurse-2"))), 31).held_text == ""


def test_nurse_who_is_not_on_the_list_is_shown_by_id() -> None:
    assert row(running((20, Assigned("nurse-9"))), 21).nurse == "nurse-9"


def test_row_of_nobody() -> None:
    shown = row(running(), 21)

    assert (shown.nurse_key, shown.nurse) == ("-", "")


@pytest.mark.parametrize(
    ("unit", "minute", "volume"),
    [
        (case((0, Issued())), 5, VolumeView(None, 280)),
        (case(volume_ml=None), 5, VolumeView(None, None)),
        (
            running((130, Completed(given_ml=270))),
            140,
            VolumeView(270, 280, 270.0, 0.0, "2026-03-03T12:20:00Z"),
        ),
        (
            running(volume_ml=None, rate=140),
            70,
            VolumeView(140, None, 140.0, 0.0, "2026-03-03T11:10:00Z"),
        ),
    ],
)
def test_volume(unit: Case, minute: int, volume: VolumeView) -> None:
    assert row(unit, minute).volume == volume


@pytest.mark.parametrize(
    ("bed", "size"), [("4", ""), ("12", ""), ("A12", " three"), ("Bay 3, bed 14", " long")]
)
def test_long_name_of_a_bed_gets_a_smaller_size(bed: str, size: str) -> None:
    assert row(case(bed=bed), 0).bed_size == size


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("episode-1", "episode-1"),
        ("a b", "x_612062"),
        ('"><x', "x_223e3c78"),
        ("é", "x_c3a9"),
        ("-", "x_2d"),
        ("", "x_"),
    ],
)
def test_key_is_safe_in_an_id_and_a_selector(text: str, key: str) -> None:
    assert dom_key(text) == key


def test_wall_row_has_no_names() -> None:
    unit = running((28, Acknowledged(ClockName.FIRST_CHECK, "nurse-2")), nurse_id="nurse-1")

    shown = wall_row(row(unit, 31))

    assert (shown.family_name, shown.given_name, shown.nurse) == ("", "", "")
    assert (shown.held_text, shown.href, shown.initials) == ("", "", "I.A.")


def _moment(
    minute: int,
    limit: int | None,
    kind: str,
    count: str,
    late: bool,  # noqa: FBT001 - a column of the tables above
) -> Moment:
    return Moment(
        at_iso=f"{at(minute):%Y-%m-%dT%H:%M:%SZ}",
        limit_iso="" if limit is None else f"{at(limit):%Y-%m-%dT%H:%M:%SZ}",
        text=f"{at(minute):%H:%M}",
        kind=kind,
        count=count,
        late=late,
    )
