"""Wards and the policies they ran under."""

from dataclasses import replace
from datetime import datetime

import pytest

from server.store.errors import Clash
from server.store.policies import (
    InForce,
    PolicyText,
    keep_policy_text,
    policies_of_wards,
    policy_texts,
    policy_version_at,
    put_policy_in_force,
)
from server.store.store import Store
from server.store.wards import (
    Ward,
    add_ward,
    change_ward,
    list_wards,
    mark_checked,
    read_ward,
    ward_revision,
)
from tests.domain.builders import around, at

OTHER = Ward("w2", "Ward 3", "Pacific/Auckland", at(0), "F", "bleep 22")
FIRST, SECOND = PolicyText("v1", "common", "first"), PolicyText("v2", "uk", "second")


@pytest.fixture(autouse=True)
def _wards(store: Store, ward: Ward) -> None:
    with store.write() as session:
        add_ward(session, OTHER)
        for policy in (FIRST, SECOND):
            keep_policy_text(session, policy)
        put_policy_in_force(session, ward.id, InForce(at(60), "v2"))
        put_policy_in_force(session, ward.id, InForce(at(0), "v1"))


def test_wards_are_listed_by_name(store: Store, ward: Ward) -> None:
    with store.read() as session:
        assert list_wards(session) == (OTHER, ward)
        assert list_wards(session, ["w1", "w9"]) == (ward,)
        assert list_wards(session, []) == ()
        assert read_ward(session, "w9") is None


def test_an_id_is_taken_once(store: Store) -> None:
    with pytest.raises(Clash), store.write() as session:
        add_ward(session, OTHER)


def test_a_change_of_settings_leaves_revision_and_check_alone(store: Store, ward: Ward) -> None:
    changed = Ward("w1", "Ward 4 North", "Europe/Dublin", ward.recorded_at, "F", "bleep 7")
    with store.write() as session:
        session.touch("w1")
        mark_checked(session, ["w1"], at(5))
        change_ward(session, changed)

    with store.read() as session:
        assert list_wards(session) == (
            OTHER,
            replace(changed, revision=1, checked_at=at(5)),
        )


def test_a_check_is_no_change_of_the_board(store: Store) -> None:
    with store.write() as session:
        mark_checked(session, ["w1", "w2"], at(5))

    with store.read() as session:
        checked = [ward.checked_at for ward in list_wards(session)]
        assert (checked, ward_revision(session, "w1")) == ([at(5), at(5)], 0)


def test_a_ward_that_is_not_there_has_no_revision(store: Store) -> None:
    with store.read() as session:
        assert ward_revision(session, "w9") is None


@pytest.mark.parametrize(
    ("versions", "boundary"),
    [(["v1", "v1", "v1"], at(0)), (["v1", "v2", "v2"], at(60))],
    ids=["before the first", "change"],
)
def test_a_version_is_in_force_from_its_instant_on(
    store: Store, versions: list[str], boundary: datetime
) -> None:
    with store.read() as session:
        found = [policy_version_at(session, "w1", instant) for instant in around(boundary)]

    assert found == versions


def test_a_ward_that_never_had_a_policy_has_no_version(store: Store) -> None:
    with store.read() as session:
        assert policy_version_at(session, "w2", at(0)) is None
        assert policies_of_wards(session, ["w1", "w2"]) == {
            "w1": (InForce(at(0), "v1"), InForce(at(60), "v2")),
            "w2": (),
        }


def test_a_version_is_put_in_force_at_an_instant_once(store: Store) -> None:
    with store.write() as session:
        put_policy_in_force(session, "w1", InForce(at(60), "v1"))

    with store.read() as session:
        periods = policies_of_wards(session, ["w1"])["w1"]
    assert periods == (InForce(at(0), "v1"), InForce(at(60), "v1"))


def test_the_text_of_a_version_never_changes(store: Store) -> None:
    with store.write() as session:
        keep_policy_text(session, PolicyText("v1", "common", "other words"))

    with store.read() as session:
        assert policy_texts(session, ["v1", "v2", "v9"]) == {"v1": FIRST, "v2": SECOND}


def test_an_unknown_version_cannot_be_put_in_force(store: Store) -> None:
    with pytest.raises(Clash), store.write() as session:
        put_policy_in_force(session, "w1", InForce(at(90), "v9"))
