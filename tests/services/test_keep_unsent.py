"""What somebody typed and did not store is theirs alone, for a day."""

from datetime import timedelta

import pytest

from server.domain.errors import Invalid
from server.services.keep_unsent import (
    KEPT_FOR,
    LONGEST_PATH,
    Kept,
    TypedField,
    TypedForm,
    drop_unsent,
    keep_unsent,
    list_unsent,
)
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import COLLEAGUE, NURSE

SECOND = timedelta(seconds=1)
SET = TypedForm(
    "observed",
    "/episodes/e1/events",
    "Record the observations",
    (TypedField("pulse_per_min", "83", "Pulse"), TypedField("once", "k1", "once")),
)
NOTE = TypedForm("", "/episodes/e1/events", "Record the note", (TypedField("text", "é", "Note"),))


@ON_BOTH_ENGINES
def test_what_was_typed_comes_back_to_its_own_person_until_a_day_has_passed(
    charting: Charting,
) -> None:
    with charting.store.write() as session:
        keep_unsent(session, NURSE, "/episodes/e1", [SET], now=at(0))
        keep_unsent(session, NURSE, "/episodes/e1", [SET, NOTE], now=at(1))
        keep_unsent(session, NURSE, "/mine", [], now=at(2))
        keep_unsent(session, NURSE, "/board", [NOTE], now=at(3))
        drop_unsent(session, NURSE, "/board")
        drop_unsent(session, COLLEAGUE, "/mine")
    with charting.store.read() as session:
        instants = (at(2), at(1) + KEPT_FOR - SECOND, at(1) + KEPT_FOR, at(2) + KEPT_FOR)
        mine = [list_unsent(session, NURSE, now=now) for now in instants]
        theirs = list_unsent(session, COLLEAGUE, now=at(2))

    unit = Kept("/episodes/e1", (SET, NOTE), at(1))
    empty = Kept("/mine", (), at(2))
    assert (mine, theirs) == ([(empty, unit), (empty, unit), (empty,), ()], ())
    assert (unit.titles, empty.titles) == ("Record the observations, Record the note", "a form")


@pytest.mark.parametrize(
    ("path", "text", "why"),
    [
        ("/" * (LONGEST_PATH + 1), "", "path: is 501 characters long; expected at most 500"),
        ("/mine", "x" * 65_536, "forms: are 65596 characters long; expected at most 65536"),
    ],
)
def test_too_much_is_refused_and_what_was_kept_stays(
    charting: Charting, path: str, text: str, why: str
) -> None:
    with charting.store.write() as session:
        keep_unsent(session, NURSE, "/mine", [NOTE], now=at(0))
    long = TypedForm("", "/events", "Record the note", (TypedField("text", text, "Note"),))

    with charting.store.write() as session, pytest.raises(Invalid) as refused:
        keep_unsent(session, NURSE, path, [long], now=at(1))

    assert str(refused.value) == why
    with charting.store.read() as session:
        assert list_unsent(session, NURSE, now=at(1)) == (Kept("/mine", (NOTE,), at(0)),)
