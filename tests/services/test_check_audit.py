"""The chain is checked: what was altered, taken out, moved, put in or cut off is named."""

import pytest

from server.domain.audit import AuditAct
from server.domain.audit_chain import BEGINNING, Break, Fault, Head, hash_of
from server.services.audit import note
from server.services.check_audit import (
    Checked,
    Verdict,
    give_head,
    keep_checking,
    last_checked,
    late_looks,
    require_writable,
    verify,
    verify_since_note,
)
from server.store.audit import NotedHead
from server.store.errors import Clash
from server.store.store import Store
from tests.domain.builders import at
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import NURSE
from tests.services.trail import NO_SPACE, links, run_plainly, tamper

ROWS = 6
TAKE_OUT = "DELETE FROM audit WHERE position = :place"
CUT_OFF = "DELETE FROM audit WHERE position >= :place"
REHASH = "UPDATE audit SET hash = :hash WHERE position = :place"


@pytest.fixture
def trail(store: Store) -> Store:
    """A trail with six rows more than the wards were entered with."""
    with store.write() as session:
        for minute in range(ROWS):
            note(session, NURSE, AuditAct.VIEWED, now=at(minute), detail={"n": minute})
    return store


def _verdict(store: Store, since: Head = BEGINNING) -> Verdict:
    with store.read() as session:
        return verify(session, since)


CHANGES = {
    "a name": (["UPDATE audit SET actor_name = 'Other' WHERE position = :place"], Fault.ALTERED),
    "a time": (["UPDATE audit SET at = 'no time' WHERE position = :place"], Fault.ALTERED),
    "a detail": (["UPDATE audit SET detail = '{}' WHERE position = :place"], Fault.ALTERED),
    "taken out": ([TAKE_OUT], Fault.MISSING),
    "swapped": (
        [
            "UPDATE audit SET position = -1 WHERE position = :place",
            "UPDATE audit SET position = :place WHERE position = :place + 1",
            "UPDATE audit SET position = :place + 1 WHERE position = -1",
        ],
        Fault.MOVED,
    ),
}


@pytest.mark.parametrize("change", CHANGES)
@ON_BOTH_ENGINES
def test_the_first_row_that_is_not_as_it_was_written_is_named(trail: Store, change: str) -> None:
    statements, fault = CHANGES[change]
    end = links(trail)[-1].position
    place = end - 3
    whole = _verdict(trail)

    tamper(trail, *statements, place=place)

    before = links(trail)[place - 2].head
    assert whole == Verdict(end, Head(end, whole.head.hash))
    assert _verdict(trail) == Verdict(place - 1, before, Break(place, fault))


def test_a_row_that_was_rewritten_with_its_hash_shows_in_the_one_after_it(trail: Store) -> None:
    place = links(trail)[-3].position
    tamper(trail, CHANGES["a name"][0][0], place=place)
    fitting = hash_of(links(trail)[place - 1])
    tamper(trail, REHASH, place=place, hash=fitting)

    assert _verdict(trail).broken == Break(place + 1, Fault.UNLINKED)


@ON_BOTH_ENGINES
def test_what_was_noted_elsewhere_shows_what_the_chain_alone_cannot(trail: Store) -> None:
    """A tail that was cut off, or a trail rewritten as a whole, hangs together."""
    end = links(trail)[-1].head
    noted, before = end, links(trail)[-2].head
    looked = [_verdict(trail, noted), _verdict(trail, Head(before.position, "0" * 64))]

    tamper(trail, CHANGES["a time"][0][0], place=before.position)
    altered = _verdict(trail, before)
    tamper(trail, TAKE_OUT, place=before.position)
    missing = _verdict(trail, before)
    tamper(trail, TAKE_OUT, place=end.position)

    assert looked == [
        Verdict(0, noted),
        Verdict(0, Head(before.position, "0" * 64), looked[1].broken),
    ]
    assert [looked[1].broken, altered.broken, missing.broken, _verdict(trail, noted).broken] == [
        Break(before.position, Fault.OTHER_HEAD),
        Break(before.position, Fault.ALTERED),
        Break(before.position, Fault.MISSING),
        Break(end.position, Fault.CUT_OFF),
    ]
    assert _verdict(trail).broken is None


@ON_BOTH_ENGINES
def test_a_head_is_given_out_and_what_follows_is_checked_from_it(trail: Store) -> None:
    given = give_head(trail, now=at(20))
    with trail.write() as session:
        note(session, NURSE, AuditAct.LOCKED, now=at(21))
    with trail.read() as session:
        verdict, noted = verify_since_note(session)

    end = links(trail)[-1].head
    assert (verdict, noted) == (Verdict(1, end), NotedHead(given.head, at(20)))
    tamper(trail, CUT_OFF, place=given.head.position)
    broken = give_head(trail, now=at(22))
    with trail.read() as session:
        _, still = verify_since_note(session)
    assert (broken.broken, still) == (Break(given.head.position, Fault.CUT_OFF), noted)


@ON_BOTH_ENGINES
def test_the_checking_goes_on_from_where_it_was(trail: Store) -> None:
    end = links(trail)[-1].head
    with trail.read() as session:
        never = last_checked(session)
    first = keep_checking(trail, now=at(30))
    with trail.write() as session:
        note(session, NURSE, AuditAct.LOCKED, now=at(31))
    tamper(trail, CHANGES["a name"][0][0], place=end.position + 1)
    second = keep_checking(trail, now=at(32))

    with trail.read() as session:
        assert (never, last_checked(session)) == (None, second)
    words = f"row {end.position + 1} was altered"
    assert (first, second) == (Checked(at(30), end), Checked(at(32), end, words))


def test_the_place_is_told_while_it_is_checked(trail: Store) -> None:
    places: list[int] = []

    with trail.read() as session:
        verify(session, BEGINNING, places.append)

    assert places == [link.position for link in links(trail)]


def test_a_trail_that_cannot_be_written_is_noticed_and_a_trial_leaves_nothing(trail: Store) -> None:
    before = links(trail)
    require_writable(trail, now=at(40))
    run_plainly(trail, NO_SPACE)

    with pytest.raises(Clash, match="the disk is full"):
        require_writable(trail, now=at(41))

    assert links(trail) == before
    with trail.read() as session:
        assert late_looks(session, BEGINNING) == ()
