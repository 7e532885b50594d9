"""What became of a unit: every gap by name, and how long it was out of storage, to the second."""

from dataclasses import replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from server.domain.account import (
    Account,
    Gap,
    OutOfStorage,
    Standing,
    UnitRecord,
    account,
    disposed_on,
    kept_until,
    supplier_of,
)
from server.domain.account_wording import gap_words
from server.domain.words import Component, Fate
from tests.domain.builders import at

LONDON = ZoneInfo("Europe/London")
SECOND = timedelta(seconds=1)
ISSUED = UnitRecord(
    episode_id="e1",
    ward_id="w1",
    patient_id="p1",
    bed="4",
    component=Component.RED_CELLS,
    issued_at=at(0),
    removed_at=at(-2),
    number="G123426000017",
    product_code="E0336",
    division="00",
    start_limit_at=at(30),
    return_limit_at=at(28),
    finish_limit_at=at(238),
)
STARTED = replace(ISSUED, started_at=at(20))
ENDED = replace(STARTED, ended_at=at(140), fate_limit_at=at(200))
GIVEN = replace(ENDED, fate=Fate.TRANSFUSED, fate_at=at(150))
RETURNED = replace(ISSUED, fate=Fate.RETURNED, fate_at=at(28))


def standing(unit: UnitRecord, minute: float) -> tuple[Standing, tuple[Gap, ...]]:
    found = account(unit, at(minute))
    return found.standing, found.gaps


def test_a_unit_whose_fate_is_recorded_is_accounted_for() -> None:
    out = OutOfStorage(22.0, at(-2), at(20), at(30))

    assert account(GIVEN, at(9999)) == Account(GIVEN, Standing.ACCOUNTED_FOR, (), out)
    assert standing(RETURNED, 9999) == (Standing.ACCOUNTED_FOR, ())


@pytest.mark.parametrize(
    ("unit", "limit", "gap", "words"),
    [
        (
            ISSUED,
            238,
            Gap.NEITHER_STARTED_NOR_RETURNED,
            "issued Tue 3 Mar 10:00, neither started nor returned",
        ),
        (STARTED, 238, Gap.NO_END, "started Tue 3 Mar 10:20, no end recorded"),
        (ENDED, 200, Gap.NO_FATE, "ended Tue 3 Mar 12:20, fate not recorded"),
    ],
)
def test_a_unit_is_in_hand_until_its_limit_and_missing_a_second_later(
    unit: UnitRecord, limit: float, gap: Gap, words: str
) -> None:
    missing = account(unit, at(limit) + SECOND)

    assert standing(unit, limit) == (Standing.IN_HAND, ())
    assert (missing.standing, missing.gaps) == (Standing.MISSING, (gap,))
    assert gap_words(missing, LONDON) == (words,)


def test_a_unit_that_owes_no_limit_is_missing_at_once() -> None:
    assert standing(replace(STARTED, finish_limit_at=None), 21)[0] is Standing.MISSING


def test_what_a_record_lacks_is_named_beside_what_is_missing() -> None:
    bare = replace(ENDED, number=None, product_code=None, removed_at=None)
    uncoded = replace(GIVEN, product_code=None)
    unissued = replace(GIVEN, issued_at=None, removed_at=None)

    assert gap_words(account(bare, at(999)), LONDON) == (
        "ended Tue 3 Mar 12:20, fate not recorded",
        "no unit number recorded",
        "no removal time: counted from issue",
    )
    assert account(bare, at(999)).gaps == (Gap.NO_FATE, Gap.NO_NUMBER, Gap.NO_REMOVAL)
    assert gap_words(account(uncoded, at(0)), LONDON) == ("no product code recorded",)
    assert gap_words(account(unissued, at(0)), LONDON) == (
        "no issue recorded: counted from the start",
    )


def test_time_out_of_storage_is_counted_to_the_start_or_to_the_way_back() -> None:
    late = replace(STARTED, started_at=at(30) + SECOND)
    no_removal = replace(RETURNED, removed_at=None)

    found = [account(one, at(40)).out_of_storage for one in (STARTED, late, RETURNED, no_removal)]

    assert found == [
        OutOfStorage(22.0, at(-2), at(20), at(30)),
        OutOfStorage(32.02, at(-2), at(30) + SECOND, at(30)),
        OutOfStorage(30.0, at(-2), at(28), at(28)),
        OutOfStorage(28.0, at(0), at(28), at(28)),
    ]
    assert [one and one.is_within for one in found] == [True, False, True, True]


def test_where_nothing_tells_the_time_out_of_storage_none_is_told() -> None:
    discarded = replace(ISSUED, fate=Fate.DISCARDED, fate_at=at(90))
    unissued = replace(GIVEN, issued_at=None, removed_at=None)
    unowed = account(replace(STARTED, start_limit_at=None), at(40)).out_of_storage

    assert [account(one, at(99)).out_of_storage for one in (ISSUED, discarded, unissued)] == [
        None
    ] * 3
    assert unowed is not None
    assert unowed.is_within is None


def test_the_facility_of_a_coded_number_is_its_supplier() -> None:
    # ICCBBA ST-001, data structure 001: the facility identification number comes first.
    assert supplier_of("G123426000017") == "G1234"
    assert [supplier_of(one) for one in ("17-4711", None)] == [None, None]


def test_the_day_is_the_wards_own_when_it_was_given_or_went_elsewhere() -> None:
    auckland = ZoneInfo("Pacific/Auckland")

    assert disposed_on(GIVEN, LONDON) == date(2026, 3, 3)
    assert disposed_on(replace(RETURNED, fate_at=at(90)), auckland) == date(2026, 3, 4)
    assert disposed_on(ISSUED, LONDON) is None
    assert disposed_on(ENDED, LONDON) == date(2026, 3, 3)


def test_a_record_is_kept_for_years_from_the_last_thing_that_became_of_the_unit() -> None:
    leap = replace(ISSUED, issued_at=at(0).replace(year=2024, month=2, day=29), removed_at=None)

    assert kept_until(GIVEN, 30, LONDON) == date(2056, 3, 3)
    assert kept_until(replace(GIVEN, fate_at=at(24 * 60)), 30, LONDON) == date(2056, 3, 4)
    assert [kept_until(leap, years, LONDON) for years in (4, 30)] == [
        date(2028, 2, 29),
        date(2054, 3, 1),
    ]
