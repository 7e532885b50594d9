"""The changes of wards come back as they were noted, those that were withdrawn too."""

from dataclasses import replace
from datetime import date

import pytest

from server.domain.ward_change import WardChange
from server.store.errors import Clash
from server.store.store import Store
from server.store.ward_changes import (
    add_ward_change,
    read_ward_change,
    ward_changes_between,
    withdraw_ward_change,
)
from server.store.wards import Ward, add_ward
from tests.domain.builders import at

PORTERS = WardChange("c1", "w1", date(2026, 3, 2), "new porter round", "manager-1", at(0))
TROLLEY = replace(PORTERS, id="c2", day=date(2026, 3, 9), text="second trolley")
ELSEWHERE = replace(PORTERS, id="c3", ward_id="w9")
WITHDRAWN = replace(TROLLEY, withdrawn_by="charge-1", withdrawn_at=at(5))


@pytest.mark.usefixtures("ward")
def test_changes_are_listed_by_ward_and_day_and_stay_readable(store: Store) -> None:
    with store.write() as session:
        add_ward(session, Ward("w9", "Ninth", "UTC", at(-999)))
        for change in (TROLLEY, PORTERS, ELSEWHERE):
            add_ward_change(session, change)
        withdraw_ward_change(session, "c2", by="charge-1", at=at(5))

    with store.read() as session:
        found = [
            ward_changes_between(session, ["w1"], date(2026, 3, 2), date(2026, 3, 9)),
            ward_changes_between(session, ["w1"], date(2026, 3, 3), date(2026, 3, 8)),
            ward_changes_between(session, ["w1", "w9"], date(2026, 3, 2), date(2026, 3, 2)),
        ]
        one = read_ward_change(session, "c2"), read_ward_change(session, "c9")
    assert found == [(PORTERS, WITHDRAWN), (), (PORTERS, ELSEWHERE)]
    assert one == (WITHDRAWN, None)
    assert [change.stands for change in found[0]] == [True, False]


@pytest.mark.usefixtures("ward")
def test_a_change_is_withdrawn_once(store: Store) -> None:
    with store.write() as session:
        add_ward_change(session, PORTERS)
        withdraw_ward_change(session, "c1", by="charge-1", at=at(5))

    with pytest.raises(Clash), store.write() as session:
        withdraw_ward_change(session, "c1", by="manager-1", at=at(6))
