"""Badges, PINs, failed tries, known devices and unsent forms are kept as they were given."""

import pytest

from server.domain.tries import Tries
from server.domain.words import Role
from server.store.badges import (
    Badge,
    forget_badge,
    forget_pin,
    holder_of_badge,
    pin_of,
    read_badge,
    save_badge,
    save_pin,
    staff_with_badge,
)
from server.store.errors import Clash
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.tries import (
    forget_devices,
    forget_tries,
    forget_tries_before,
    is_known_device,
    know_device,
    read_tries,
    save_tries,
)
from server.store.unsent import Unsent, drop_unsent, forget_unsent, keep_unsent, unsent_of
from tests.domain.builders import at

FORMS = (["note", "/events", "Record the note", [["text", "é 1", "Note"]]],)


@pytest.fixture(autouse=True)
def _people(store: Store) -> None:
    with store.write() as session:
        for key in ("n1", "n2"):
            save_staff(session, Staff(key, key, Role.BEDSIDE_NURSE, None))


def test_a_badge_has_one_person_and_a_person_one_badge(store: Store) -> None:
    first, second = Badge("n1", at(0), "admin"), Badge("n1", at(5), "charge")
    with store.write() as session:
        save_badge(session, first, "one")
        save_badge(session, second, "two")

    with store.read() as session:
        holders = [holder_of_badge(session, badge) for badge in ("one", "two")]
        kept = [read_badge(session, staff_id) for staff_id in ("n1", "n2")]
        badged = staff_with_badge(session)
    assert (holders, kept, badged) == ([None, "n1"], [second, None], frozenset({"n1"}))
    with pytest.raises(Clash), store.write() as session:
        save_badge(session, Badge("n2", at(6), "admin"), "two")


def test_a_badge_and_a_pin_are_taken_back_once(store: Store) -> None:
    with store.write() as session:
        save_badge(session, Badge("n1", at(0), "admin"), "one")
        save_pin(session, "n1", "first", at(0))
        save_pin(session, "n1", "second", at(1))
        kept = [pin_of(session, staff_id) for staff_id in ("n1", "n2")]
        gone = [act(session, "n1") for act in (forget_badge, forget_pin) for _ in range(2)]

    with store.read() as session:
        after = (holder_of_badge(session, "one"), pin_of(session, "n1"))
    assert kept == [("second", at(1)), None]
    assert (gone, after) == ([True, False, True, False], (None, None))


def test_tries_are_counted_until_they_are_forgotten(store: Store) -> None:
    with store.write() as session:
        for minute, subject in enumerate(("a", "b", "b", "c")):
            save_tries(session, subject, Tries(minute, at(minute)))
        forget_tries(session, "c")
        forget_tries_before(session, at(2))

    with store.read() as session:
        kept = [read_tries(session, subject) for subject in "abc"]
    assert kept == [None, Tries(2, at(2)), None]


def test_a_device_is_known_to_those_who_signed_in_on_it(store: Store) -> None:
    with store.write() as session:
        know_device(session, "desk", "n1", at(0))
        know_device(session, "desk", "n1", at(9))
        know_device(session, "phone", "n1", at(5))
        forget_devices(session, at(6))

    with store.read() as session:
        known = [
            is_known_device(session, *pair)
            for pair in (("desk", "n1"), ("desk", "n2"), ("phone", "n1"))
        ]
    assert known == [True, False, False]


def test_what_was_typed_is_kept_by_person_and_page(store: Store) -> None:
    with store.write() as session:
        for minute, staff_id, path in ((0, "n1", "/a"), (1, "n1", "/b"), (2, "n2", "/a")):
            keep_unsent(session, staff_id, Unsent(path, (["old"],), at(minute)))
        keep_unsent(session, "n1", Unsent("/a", FORMS, at(3)))
        keep_unsent(session, "n1", Unsent("/c", FORMS, at(3)))
        drop_unsent(session, "n1", "/c")
        before = unsent_of(session, "n1")
        forget_unsent(session, at(2))

    with store.read() as session:
        after = [unsent_of(session, staff_id) for staff_id in ("n1", "n2")]
    newest = Unsent("/a", FORMS, at(3))
    assert before == (newest, Unsent("/b", (["old"],), at(1)))
    assert after == [(newest,), (Unsent("/a", (["old"],), at(2)),)]
