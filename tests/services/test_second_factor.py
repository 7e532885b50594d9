"""The second factor beside a password: set up, shown once, renewed, lost and taken away."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.one_time_codes import RECOVERY_CODES, in_groups
from server.services.second_factor import (
    BEGUN_LASTS,
    confirm_second_factor,
    renew_recovery_codes,
    take_second_factor_away,
    turn_off_second_factor,
)
from server.services.tidy import tidy
from server.store.second_factors import read_second_factor
from server.store.store import Store
from server.store.vault import Vault
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.one_time import begun, code_at, confirmed, standing, used
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    PROGRAM,
    W2,
)
from tests.services.shared_device import KEY, noted

STEP = timedelta(seconds=30)
TOGETHER = 6


@pytest.fixture(autouse=True)
def _vault(store: Store) -> None:
    store.vault = Vault(KEY.part("vault"))


@ON_BOTH_ENGINES
def test_the_first_code_confirms_it_and_every_code_opens_once(charting: Charting) -> None:
    store = charting.store
    secret, codes = confirmed(store)
    now = at(1)
    later = now + STEP

    shown = [
        used(store, code_at(secret, at(0)), at(0)),  # it confirmed, so it is used
        used(store, code_at(secret, later), now),  # a clock that is half a minute ahead
        used(store, code_at(secret, later), later),
        used(store, code_at(secret, now), now),  # older than one that was used
        used(store, code_at(secret, later + STEP), later + STEP),
        used(store, "000000", later + STEP),
    ]

    assert shown == [False, True, False, False, True, False]
    assert (len(codes), len(set(codes)), standing(store)) == (
        RECOVERY_CODES,
        RECOVERY_CODES,
        (at(0), RECOVERY_CODES),
    )
    assert noted(charting, "second_factor_set") == [("manager-1", "second_factor_set", None)]
    kept = repr(charting.everything())
    assert [one in kept for one in (secret, *codes)] == [False] * (1 + RECOVERY_CODES)


@ON_BOTH_ENGINES
def test_a_recovery_code_opens_once_and_for_its_person_alone(charting: Charting) -> None:
    store = charting.store
    _, (first, second, *_) = confirmed(store)
    confirmed(store, ADMINISTRATOR)

    shown = [
        used(store, first, at(1), ADMINISTRATOR),
        used(store, in_groups(first).lower(), at(1)),
        used(store, first, at(2)),
    ]
    with store.write() as session:
        renewed = renew_recovery_codes(session, MANAGER, now=at(3))
    after = [used(store, second, at(4)), used(store, renewed[0], at(4))]

    assert (shown, after) == ([False, True, False], [False, True])
    assert standing(store) == (at(0), RECOVERY_CODES - 1)
    assert noted(charting, "recovery_code_used", "recovery_codes_made") == [
        ("manager-1", "recovery_code_used", None),
        ("manager-1", "recovery_codes_made", None),
        ("manager-1", "recovery_code_used", None),
    ]


def test_what_was_begun_changes_nothing_until_it_is_confirmed_and_lapses(store: Store) -> None:
    present, _ = confirmed(store)
    other = begun(store, minute=1)
    late = at(1) + BEGUN_LASTS

    with pytest.raises(Invalid, match="code: does not fit"), store.write() as session:
        confirm_second_factor(session, MANAGER, "000000", now=at(1))
    with pytest.raises(Conflict, match="begin again"), store.write() as session:
        confirm_second_factor(session, MANAGER, code_at(other, late), now=late)
    assert used(store, code_at(present, at(2)), at(2))
    assert not used(store, code_at(other, at(3)), at(3))

    with store.write() as session:
        tidy(session, now=late + STEP)
    with pytest.raises(Conflict), store.write() as session:
        confirm_second_factor(session, MANAGER, code_at(other, at(4)), now=at(4))


def test_another_device_takes_the_place_of_the_first(store: Store) -> None:
    first, codes = confirmed(store)
    second = begun(store, minute=2)
    with store.write() as session:
        confirm_second_factor(session, MANAGER, code_at(second, at(2)), now=at(2))

    shown = [used(store, code_at(one, at(3)), at(3)) for one in (first, second)]

    assert (shown, used(store, codes[0], at(3))) == ([False, True], False)
    assert standing(store) == (at(2), RECOVERY_CODES)


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_everybody_may_have_one(store: Store, actor: Actor) -> None:
    secret, _ = confirmed(store, actor)

    assert used(store, code_at(secret, at(1)), at(1), actor)


def test_a_program_has_none(charting: Charting) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden, match="for people"):
        begun(charting.store, PROGRAM)
    with pytest.raises(Conflict), charting.store.write() as session:
        renew_recovery_codes(session, PROGRAM, now=at(0))
    for required in (True, False):
        with pytest.raises(Conflict), charting.store.write() as session:
            turn_off_second_factor(session, PROGRAM, required=required, now=at(0))

    assert charting.everything() == before


@ON_BOTH_ENGINES
def test_one_turns_it_off_unless_the_site_asks_for_it(charting: Charting) -> None:
    store = charting.store
    confirmed(store)

    with pytest.raises(Conflict, match="this board asks for it"), store.write() as session:
        turn_off_second_factor(session, MANAGER, required=True, now=at(1))
    before = standing(store)
    with store.write() as session:
        turn_off_second_factor(session, MANAGER, required=False, now=at(1))

    assert (before, standing(store)) == ((at(0), RECOVERY_CODES), (None, 0))
    assert noted(charting, "second_factor_taken_away") == [
        ("manager-1", "second_factor_taken_away", "manager-1")
    ]


@ON_BOTH_ENGINES
def test_an_administrator_takes_it_away_from_whoever_lost_it(charting: Charting) -> None:
    store = charting.store
    secret, codes = confirmed(store)

    with store.write() as session:
        take_second_factor_away(session, ADMINISTRATOR, MANAGER.id, now=at(1))

    assert standing(store) == (None, 0)
    assert not used(store, code_at(secret, at(2)), at(2))
    assert not used(store, codes[0], at(2))
    assert noted(charting, "second_factor_taken_away") == [
        ("admin", "second_factor_taken_away", "manager-1")
    ]
    for staff_id, what in ((MANAGER.id, "the second factor"), ("none", "the member of staff")):
        with pytest.raises(NotFound, match=what), store.write() as session:
            take_second_factor_away(session, ADMINISTRATOR, staff_id, now=at(2))


@pytest.mark.parametrize(
    "actor",
    [NURSE, CHARGE, MANAGER, PROGRAM, replace(ADMINISTRATOR, id="admin-9", wards=W2)],
    ids=lambda one: one.id,
)
def test_nobody_else_takes_it_away(charting: Charting, actor: Actor) -> None:
    confirmed(charting.store)
    before = charting.everything()

    with pytest.raises(Forbidden), charting.store.write() as session:
        take_second_factor_away(session, actor, MANAGER.id, now=at(1))

    assert charting.everything() == before


def test_a_key_that_does_not_open_it_lets_recovery_codes_alone_in(store: Store) -> None:
    secret, codes = confirmed(store)
    store.vault = Vault(b"another key of 32 bytes, exactly")

    assert not used(store, code_at(secret, at(1)), at(1))
    assert used(store, codes[0], at(1))


@ON_BOTH_ENGINES
def test_of_many_who_show_one_code_at_once_one_is_let_in(charting: Charting) -> None:
    """The step is used up in the transaction that looks at it."""
    store = charting.store
    secret, (recovery, *_) = confirmed(store)

    for code in (code_at(secret, at(1)), recovery):
        with ThreadPoolExecutor(TOGETHER) as several:
            tries = [several.submit(used, store, code, at(1)) for _ in range(TOGETHER)]
        assert sorted(one.result() for one in tries) == [*[False] * (TOGETHER - 1), True]
    with store.read() as session:
        factor = read_second_factor(session, MANAGER.id)
    assert factor is not None
    assert secret not in repr(factor)
