"""However often the button of a provider is pressed: no table is filled, and nobody kept out."""

from datetime import datetime, timedelta
from typing import Final

import pytest

from server.services.board_key import BoardKey
from server.services.sso_begun import (
    MOST_STRANGERS,
    OF_ONE,
    OF_STRANGERS,
    Errand,
    NotBegun,
    TooManyBegun,
    begin_sign_on,
    browser_of,
    require_pace,
    take_sign_on,
)
from server.services.try_sign_in import know_device
from server.store.sessions import ReadSession
from server.store.sso import Begun, Browser, add_begun
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import COLLEAGUE

KEY: Final = BoardKey(b"k" * 32)
STATION: Final = "the device at the desk"
NOW: Final = at(0)
SECOND: Final = timedelta(seconds=1)


def press(charting: Charting, visit: str, device: str = "", *, now: datetime = NOW) -> Errand:
    """Press the button; raises `TooManyBegun`."""
    with charting.store.read() as session:
        browser = browser_of(session, KEY, visit, device)
        require_pace(session, browser, now=now)
    with charting.store.write() as session:
        return begin_sign_on(session, KEY, visit, "/", now=now, browser=browser)


def is_open(charting: Charting, visit: str, errand: Errand, now: datetime) -> bool:
    """Whether the provider's answer to it would still be taken."""
    try:
        with charting.store.write() as session:
            take_sign_on(session, KEY, visit, errand.state, now=now)
    except NotBegun:
        return False
    return True


def rows(session: ReadSession) -> int:
    """How many sign-ins stand open."""
    return int(session.plain("SELECT count(*) FROM sso_begun")[0][0])


@pytest.fixture
def known(charting: Charting) -> Charting:
    """A ward with a station at which somebody has signed in before."""
    with charting.store.write() as session:
        know_device(session, KEY, STATION, COLLEAGUE.id, now=at(-60))
        know_device(session, KEY, "", COLLEAGUE.id, now=at(-60))
    return charting


@ON_BOTH_ENGINES
@pytest.mark.parametrize("device", [STATION, ""], ids=["known", "strange"])
def test_one_browser_waits_after_five_and_has_no_more_than_five_open(
    known: Charting, device: str
) -> None:
    first = [press(known, "desk", device, now=NOW + n * SECOND) for n in range(OF_ONE)]

    with pytest.raises(TooManyBegun) as refused:
        press(known, "desk", device, now=NOW + 9 * SECOND)
    later = press(known, "desk", device, now=NOW + 10 * SECOND)

    assert refused.value.seconds == 10
    with known.store.read() as session:
        assert rows(session) == OF_ONE
    still = [is_open(known, "desk", one, at(1)) for one in (*first, later)]
    assert still == [False, *[True] * OF_ONE]


@ON_BOTH_ENGINES
def test_strangers_share_a_pace_and_a_known_device_has_its_own(known: Charting) -> None:
    for number in range(MOST_STRANGERS):
        press(known, f"stranger {number}")

    with pytest.raises(TooManyBegun) as refused:
        press(known, "one more", "a device that nobody knows")

    errand = press(known, "desk", STATION)
    assert refused.value.seconds == 1
    assert press(known, "one more", now=NOW + SECOND).begun.begun_at == NOW + SECOND
    assert is_open(known, "desk", errand, at(1))


def test_a_known_device_is_one_however_many_visits_it_makes(known: Charting) -> None:
    for number in range(OF_ONE):
        press(known, f"visit {number}", STATION)

    with pytest.raises(TooManyBegun):
        press(known, "another visit", STATION)


@ON_BOTH_ENGINES
def test_strangers_fill_the_table_no_further_and_push_out_their_own_first(
    known: Charting,
) -> None:
    at_the_desk = press(known, "desk", STATION)
    first = press(known, "first")
    with known.store.write() as session:
        for number in range(OF_STRANGERS - 1):
            begun, browser = Begun("/", None, at(1)), Browser(f"visit {number}", None)
            add_begun(session, begun, f"state {number}", browser)

    press(known, "last", now=at(2))

    with known.store.read() as session:
        assert rows(session) == OF_STRANGERS + 1
    found = [is_open(known, *one, at(3)) for one in (("desk", at_the_desk), ("first", first))]
    assert found == [True, False]
