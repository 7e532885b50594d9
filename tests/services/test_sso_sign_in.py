"""A sign-in at a provider is begun, taken up once, and opens a session like any other."""

from dataclasses import replace
from datetime import timedelta
from typing import Final

import pytest

from server.domain.sign_on import Identity
from server.services.board_key import BoardKey
from server.services.half_sign_in import Half
from server.services.sign_in import holder_of_session, sign_in
from server.services.sso_begun import (
    LASTS,
    Errand,
    NotBegun,
    begin_sign_on,
    browser_of,
    take_sign_on,
)
from server.services.sso_links import link_oneself
from server.services.sso_sign_in import (
    JUST_NOW,
    NotLinked,
    Place,
    id_token_behind,
    is_just_recognised,
    note_refusal,
    recognised_staff,
    sign_on,
)
from server.services.tidy import tidy
from server.store.sso import Link, save_link
from server.store.staff import save_staff
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import COLLEAGUE, NURSE, staff_of
from tests.services.trail import said

KEY: Final = BoardKey(b"k" * 32)
VISIT: Final = "the secret of one browser"
NINA: Final = Identity("https://provider.example", "s-1", "nina")
ID_TOKEN: Final = "header.claims.signature"
SECOND: Final = timedelta(seconds=1)


def begin(charting: Charting, **other: str) -> Errand:
    """Begin a sign-in."""
    with charting.store.write() as session:
        browser = browser_of(session, KEY, VISIT, "")
        return begin_sign_on(session, KEY, VISIT, "/mine", now=at(0), browser=browser, **other)


@ON_BOTH_ENGINES
def test_any_process_takes_up_what_was_begun_and_once_only(charting: Charting) -> None:
    begun, linking = begin(charting), begin(charting, staff_id=NURSE.id)

    with charting.store.write() as session:
        taken = take_sign_on(session, BoardKey(b"k" * 32), VISIT, begun.state, now=at(5))
    with pytest.raises(NotBegun), charting.store.write() as session:
        take_sign_on(session, KEY, VISIT, begun.state, now=at(5))

    secrets = {begun.state, begun.nonce, begun.verifier, linking.state, linking.nonce}
    everything = str(charting.everything())
    assert (taken, taken.begun.next_path, linking.begun.staff_id) == (begun, "/mine", NURSE.id)
    assert (len(secrets), [one for one in secrets if one in everything]) == (5, [])


@pytest.mark.parametrize(
    ("visit", "seconds", "is_known"),
    [("another browser", 0, True), (VISIT, -1, True), (VISIT, 601, True), (VISIT, 0, False)],
)
def test_nobody_takes_up_what_is_old_or_of_another_browser(
    charting: Charting, visit: str, seconds: int, *, is_known: bool
) -> None:
    state = begin(charting).state if is_known else "made up"
    now = at(0) + timedelta(seconds=seconds)

    with pytest.raises(NotBegun), charting.store.write() as session:
        take_sign_on(session, KEY, visit, state, now=now)


def test_another_browser_does_not_spoil_it_for_the_one_that_began(charting: Charting) -> None:
    begun = begin(charting)
    with charting.store.write() as session:
        for visit in ("another", ""):
            with pytest.raises(NotBegun):
                take_sign_on(session, KEY, visit, begun.state, now=at(1))

        assert take_sign_on(session, KEY, VISIT, begun.state, now=at(0) + LASTS) == begun


def test_what_was_begun_and_left_goes_in_its_time(charting: Charting) -> None:
    begin(charting)

    counts = []
    for now in (at(0) + LASTS, at(0) + LASTS + SECOND):
        with charting.store.write() as session:
            tidy(session, now=now)
            counts.append(session.plain("SELECT count(*) FROM sso_begun")[0][0])
    assert counts == [1, 0]


@ON_BOTH_ENGINES
def test_whoever_is_linked_takes_the_place_of_whoever_was_there(charting: Charting) -> None:
    with charting.store.write() as session:
        link_oneself(session, NURSE, NINA, now=at(0))
        left = sign_in(session, staff_of(COLLEAGUE), now=at(1)).secret
        place = Place(left, "Chrome on Linux", timedelta(hours=13))
        nurse = recognised_staff(session, NINA, now=at(2))
        first = sign_on(session, Half(nurse, ID_TOKEN), replace(place, secret=""), now=at(2))
        second = sign_on(session, Half(nurse, ID_TOKEN), place, now=at(3))
        by_password = sign_on(session, Half(nurse), replace(place, secret=""), now=at(3))

    with charting.store.read() as session:
        gone = holder_of_session(session, left, now=at(4))
        here = holder_of_session(session, second.secret, now=at(4))
        words = [
            id_token_behind(session, one)
            for one in (first.secret, second.secret, left, by_password.secret)
        ]
    assert gone is None
    assert here is not None
    assert (here.actor.id, here.session.device) == (NURSE.id, "Chrome on Linux")
    assert second.expires_at == at(3) + timedelta(hours=13)
    assert words == [ID_TOKEN, ID_TOKEN, "", ""]
    trail = said(charting.store, "actor_id", "act", "detail")[-3:]
    assert trail == [
        (NURSE.id, "signed_in", '{"way":"single sign-on"}'),
        (NURSE.id, "person_changed", '{"way":"single sign-on"}'),
        (NURSE.id, "signed_in", "{}"),
    ]


def test_for_ten_minutes_the_word_of_the_provider_stands_for_a_password(
    charting: Charting,
) -> None:
    place = Place("", "a device", timedelta(hours=1))
    with charting.store.write() as session:
        link_oneself(session, NURSE, NINA, now=at(0))
        here = sign_on(session, Half(staff_of(NURSE), ID_TOKEN), place, now=at(1)).actor
        otherwise = sign_in(session, staff_of(NURSE), now=at(1)).actor
        found = [
            is_just_recognised(session, actor, now=now)
            for actor in (here, otherwise, NURSE)
            for now in (at(1) + JUST_NOW, at(1) + JUST_NOW + SECOND)
        ]

    assert found == [True, False, False, False, False, False]


def test_nobody_is_let_in_or_entered_whom_nobody_linked(charting: Charting) -> None:
    before = charting.everything()

    with pytest.raises(NotLinked) as refused, charting.store.write() as session:
        recognised_staff(session, NINA, now=at(1))

    assert (refused.value.account, charting.everything()) == ("nina", before)
    with charting.store.write() as session:
        note_refusal(session, "not linked", now=at(2))
    assert said(charting.store, "actor_id", "act", "detail")[-1] == (
        "nobody",
        "sign_in_failed",
        '{"way":"single sign-on","why":"not linked"}',
    )


def test_an_account_of_somebody_who_no_longer_works_here_opens_nothing(charting: Charting) -> None:
    """Also where the link was kept, past the use case that takes it away."""
    with charting.store.write() as session:
        save_staff(session, replace(staff_of(NURSE), active=False))
        save_link(session, Link(NURSE.id, NINA.issuer, "nina", at(0), "admin", "s-1"))

    with pytest.raises(NotLinked), charting.store.write() as session:
        recognised_staff(session, NINA, now=at(1))
