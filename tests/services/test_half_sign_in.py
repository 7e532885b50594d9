"""Between a right password and its code nobody is in, and guessing codes has to wait."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from server.domain.tries import ELSEWHERE
from server.services.enter_staff import enter_staff
from server.services.half_sign_in import (
    HALF_LASTS,
    Half,
    Wanted,
    begin_half,
    end_half,
    read_half,
    wanted_after_password,
)
from server.services.recognise import claim_by_name
from server.services.second_factor import read_factor
from server.services.set_password import set_own_password
from server.services.try_sign_in import Claim, WaitFirst, begin_try, end_try
from server.store.staff import Staff
from server.store.store import Store
from server.store.vault import Vault
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.one_time import begun, confirmed, standing
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    staff_draft,
    staff_of,
)
from tests.services.shared_device import KEY, with_password


@pytest.fixture(autouse=True)
def _vault(store: Store) -> None:
    store.vault = Vault(KEY.part("vault"))


def _half(store: Store, staff: Staff, *, required: bool = False) -> tuple[Wanted, str]:
    with store.write() as session:
        wanted = wanted_after_password(session, staff, required=required)
        return wanted, begin_half(session, Half(staff), wanted, now=at(0))


def _holder(store: Store, secret: str, now: datetime) -> str | None:
    with store.read() as session:
        half = read_half(session, secret, now=now)
    return None if half is None else half.staff.id


@ON_BOTH_ENGINES
def test_after_the_password_a_code_is_waited_for_ten_minutes(charting: Charting) -> None:
    store, manager = charting.store, staff_of(MANAGER)
    confirmed(store)
    wanted, secret = _half(store, manager)
    last = at(0) + HALF_LASTS - timedelta(seconds=1)

    held = [_holder(store, secret, now) for now in (at(0), last, at(0) + HALF_LASTS)]
    made_up = _holder(store, "made up", at(0))
    with store.write() as session:
        end_half(session, secret)

    assert (wanted, held, made_up) == (Wanted.CODE, [MANAGER.id, MANAGER.id, None], None)
    assert _holder(store, secret, at(0)) is None
    assert secret not in repr(charting.everything())


def test_who_has_none_is_asked_for_it_where_the_site_does(store: Store) -> None:
    wanted = {
        (person.id, required): _half(store, staff_of(person), required=required)[0]
        for person in (MANAGER, ADMINISTRATOR, NURSE, CHARGE)
        for required in (False, True)
    }

    assert wanted == {
        (person, required): Wanted.SET_UP if required else Wanted.NOTHING
        for person, required in wanted
    }
    with store.read() as session:
        begun_for = [
            bool(read_factor(session, person.id, now=at(0)).begun) for person in (NURSE, OUTSIDER)
        ]
    assert begun_for == [True, False]


@ON_BOTH_ENGINES
def test_nobody_who_only_knows_the_password_looks_on_while_it_is_set_up(
    charting: Charting,
) -> None:
    """What an app reads is shown to a sign-in that waits, of which the last begun is left."""
    store, manager = charting.store, staff_of(MANAGER)

    first, second = (_half(store, manager, required=True)[1] for _ in range(2))
    held = [_holder(store, one, at(0)) for one in (first, second)]
    begun(store)

    assert held == [None, MANAGER.id]
    assert _holder(store, second, at(0)) is None


def test_a_half_sign_in_ends_with_the_password_and_the_account(charting: Charting) -> None:
    store = charting.store
    manager = with_password(charting, MANAGER)
    confirmed(store)
    _, first = _half(store, manager)
    with store.write() as session:
        set_own_password(session, MANAGER, "four words that nobody tries", now=at(1))
    wanted, second = _half(store, manager)
    held = [_holder(store, one, at(1)) for one in (first, second)]
    with store.write() as session:
        draft = replace(staff_draft(MANAGER), active=False)
        enter_staff(session, ADMINISTRATOR, draft, now=at(2))

    assert (wanted, held) == (Wanted.CODE, [None, MANAGER.id])
    assert _holder(store, second, at(2)) is None
    assert standing(store) == (None, 0)


def test_tries_at_codes_are_counted_apart_from_tries_at_the_password(charting: Charting) -> None:
    """Whoever knows the password may give it as often as they like: that gives no new tries."""
    store = charting.store
    manager = with_password(charting, MANAGER)
    confirmed(store)
    waits = []
    for number in range(ELSEWHERE.free + 1):
        with store.read() as session:
            password = claim_by_name(session, MANAGER.id, f"device {number}")
        with store.write() as session:
            begin_try(session, KEY, password, now=at(0))
            end_try(session, KEY, password, now=at(0))
        code = Claim(manager.id, "", f"device {number}", beside="code")
        try:
            with store.write() as session:
                begin_try(session, KEY, code, now=at(0))
        except WaitFirst as wait:
            waits.append((number, wait.until))

    assert waits == [(ELSEWHERE.free, at(0) + ELSEWHERE.first)]
    assert charting.everything()["known_device"] == []
    with store.write() as session:
        end_try(session, KEY, Claim(manager.id, "", "device 0", beside="code"), now=at(1))
        begin_try(session, KEY, Claim(manager.id, "", "device 0", beside="code"), now=at(1))
    assert len(charting.everything()["known_device"]) == 1
