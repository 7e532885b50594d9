"""The policy of a ward: a new version judges what is issued from then on, and nothing before."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.payloads import Issued
from server.domain.policy import flatten
from server.domain.words import ClockName
from server.services.enter_ward import read_ward_policy
from server.services.errors import NotFound
from server.services.list_ward_policies import list_ward_policies
from server.services.policies import bring_up_to_date, policy_in_force
from server.store import policies as stored
from server.store.sessions import Change
from server.store.wards import Ward, add_ward, list_wards
from tests.domain.builders import COMMON, POLICIES, at
from tests.services.charting import Charting, local_policy
from tests.services.engines import ON_BOTH_ENGINES
from tests.store.facts import counted_queries

QUICKER = replace(local_policy("[start.target_minutes]\nvalue = 20", name="common"), name="common")


def _upgrade(charting: Charting, when: float) -> tuple[str, ...]:
    with charting.store.write() as session:
        return bring_up_to_date(session, POLICIES | {"common": QUICKER}, now=at(when))


@ON_BOTH_ENGINES
def test_what_was_issued_before_keeps_the_version_it_was_issued_under(charting: Charting) -> None:
    charting.open("before")
    charting.issue("before", minute=0)
    charting.open("after")

    changed = _upgrade(charting, 5)
    charting.issue("after", minute=10)

    limits = {one: charting.clocks(one)["start:1"].limit_at for one in ("before", "after")}
    assert (changed, limits) == (("w1", "w2"), {"before": at(30), "after": at(30)})
    judged = {
        row.picture.case.request.id: row.picture.case.policy.version
        for row in charting.board(11).rows
    }
    assert judged == {"before": COMMON.version, "after": QUICKER.version}
    assert charting.rebuild(11).differed == ()


def test_what_is_recorded_late_is_judged_by_when_it_was_issued(charting: Charting) -> None:
    charting.open("late")
    _upgrade(charting, 5)

    charting.record(4, Issued(), "late", now=at(10))

    assert charting.clocks("late")["start:1"].limit_at == at(34)


def test_a_breach_found_after_the_change_is_judged_by_the_old_version(charting: Charting) -> None:
    charting.open("before")
    charting.issue("before", minute=0)
    _upgrade(charting, 5)

    charting.tick(at(20, 1))
    early = charting.clocks("before")["start:1"].breached_at
    charting.tick(at(30, 1))

    assert (early, charting.clocks("before")["start:1"].breached_at) == (None, at(30))
    assert charting.transitions("before")[-1].clock in (ClockName.START, ClockName.RETURN)


def test_a_ward_that_is_up_to_date_is_left_alone(charting: Charting) -> None:
    _upgrade(charting, 5)
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    assert (_upgrade(charting, 6), heard) == ((), [])


def test_a_changed_ward_is_told(charting: Charting) -> None:
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    _upgrade(charting, 5)

    assert [(change.ward_id, change.episode_ids) for change in heard[0]] == [
        ("w1", frozenset()),
        ("w2", frozenset()),
    ]


def test_a_ward_whose_policy_is_gone_stays_with_what_it_has(charting: Charting) -> None:
    local = local_policy("[return.minutes]\nvalue = 45")
    charting.put_in_force(local, when=0)

    with charting.store.write() as session:
        changed = bring_up_to_date(session, POLICIES, now=at(5))

    with charting.store.read() as session:
        assert (changed, policy_in_force(session, "w1", at(10))) == ((), local)


@ON_BOTH_ENGINES
def test_the_policy_in_force_is_that_of_the_instant(charting: Charting) -> None:
    local = local_policy("[return.minutes]\nvalue = 45")
    charting.put_in_force(local, when=0)
    moment = timedelta(seconds=1)

    with charting.store.read() as session:
        versions = [policy_in_force(session, "w1", when) for when in (at(0) - moment, at(0))]
        current = read_ward_policy(session, "w1", now=at(1))

    assert (versions, current) == ([COMMON, local], local)


def test_an_unknown_ward_has_none(charting: Charting) -> None:
    with charting.store.read() as session:
        assert policy_in_force(session, "w7", at(0)) is None
        with pytest.raises(NotFound, match="the ward's policy was not found"):
            read_ward_policy(session, "w7", now=at(0))


@ON_BOTH_ENGINES
def test_a_ward_that_never_had_a_policy_is_named(charting: Charting) -> None:
    """No use case makes one; whoever puts a ward into the database by hand is told which it is."""
    with charting.store.write() as session:
        add_ward(session, Ward("w3", "Ward 3", "UTC", at(0)))

    with charting.store.read() as session:
        listed = list_wards(session)
        with pytest.raises(NotFound, match="the policy of the ward w3 was not found"):
            list_ward_policies(session, listed, now=at(1))
        names = list_ward_policies(session, listed[:2], now=at(1))

    assert names == {"w1": "common", "w2": "common"}


@pytest.mark.parametrize("wards", [1, 2])
def test_names_of_policies_take_two_queries_at_most(charting: Charting, wards: int) -> None:
    charting.put_in_force(POLICIES["nz"], when=0, ward_id="w2")

    with charting.store.read() as session:
        listed = list_wards(session)[:wards]
        with counted_queries(charting.store) as sent:
            names = list_ward_policies(session, listed, now=at(1))

    assert names == dict(list({"w1": "common", "w2": "nz"}.items())[:wards])
    assert len(sent) <= 2


def _without(text: str, key: str) -> str:
    """A text as it was written before there was a key."""
    before, found, after = text.partition(f"\n[{key}]\n")
    assert found
    return before + "\n" + after.partition("\n\n")[2]


@ON_BOTH_ENGINES
def test_a_text_from_before_there_was_a_key_has_the_common_value(charting: Charting) -> None:
    older = flatten(replace(COMMON, title="As it was"))
    text = _without(_without(older, "reaction.every_minutes"), "pathway.steps")
    version = "0123456789ab"
    with charting.store.write() as session:
        stored.keep_policy_text(session, stored.PolicyText(version, "common", text))
        stored.put_policy_in_force(session, "w1", stored.InForce(at(-10), version))

    with charting.store.read() as session:
        read = policy_in_force(session, "w1", at(-5))

    assert read == replace(COMMON, title="As it was", version=version)
