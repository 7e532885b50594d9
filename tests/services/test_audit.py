"""What the use cases note of themselves, in the transaction that does it, and who may read it."""

from collections.abc import Callable
from dataclasses import replace
from json import loads
from typing import Any

import pytest

from server.domain.audit import AuditAct
from server.domain.audit_chain import Link
from server.domain.payloads import Issued
from server.domain.words import Role
from server.domain.workload.capacity import WardLimits
from server.services.actor import Actor
from server.services.copy_day import copy_day
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft, remove_shift
from server.services.enter_staff import enter_staff
from server.services.enter_ward import enter_ward
from server.services.errors import Forbidden
from server.services.export_history import note_export
from server.services.read_audit import NO_TIME, Source, Trail, noted_at, read_audit
from server.services.tokens import make_token
from server.services.wall_links import list_wall_links, make_wall_link, revoke_wall_link
from server.store.audit_search import AuditQuery
from server.store.sessions import WriteSession
from server.store.shifts import Break
from server.store.store import Store
from server.store.training import ShiftWork, Training
from tests.domain.builders import POLICIES, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    PROGRAM,
    WARD_1,
    staff_draft,
)
from tests.services.trail import links, tamper

ROW = ("actor_id", "act", "subject_kind", "subject_id", "ward_id")


def _told(store: Store, act: Callable[[WriteSession], object]) -> list[tuple[Any, ...]]:
    """What the trail says of an act: the columns of ROW, and the detail."""
    before = len(links(store))
    with store.write() as session:
        act(session)
    return [
        (*(getattr(one, name) for name in ROW), loads(one.detail)) for one in links(store)[before:]
    ]


@ON_BOTH_ENGINES
def test_what_is_changed_of_a_person_is_named_and_access_is_told_from_and_to(store: Store) -> None:
    def enter(**fields: Any) -> list[tuple[Any, ...]]:
        draft = replace(staff_draft(NURSE), **fields)
        return _told(store, lambda session: enter_staff(session, ADMINISTRATOR, draft, now=at(0)))

    new, access = {"id": "new"}, {"role": "bedside_nurse", "wards": ["w1"]}
    entered = enter(**new)
    told = enter(**new, name="Noa New", sign_in_name="noa", password="correct horse")
    moved = enter(**new, role=Role.CHARGE_NURSE, wards=None, active=False)

    who = ("admin",)
    named = ("staff", "new", None)
    assert entered == [(*who, "staff_entered", *named, access)]
    assert told == [
        (*who, "staff_changed", *named, {"changed": ["name", "sign_in_name", "password"]})
    ]
    assert moved == [
        (
            *who,
            "access_changed",
            *named,
            {
                "changed": ["name", "role", "wards", "sign_in_name", "active"],
                "role": "charge_nurse",
                "role_was": "bedside_nurse",
                "wards": None,
                "wards_were": ["w1"],
            },
        )
    ]


@ON_BOTH_ENGINES
def test_what_is_changed_of_a_ward_is_named_and_its_policy_told(store: Store) -> None:
    def enter(**fields: Any) -> list[tuple[Any, ...]]:
        draft = replace(WARD_1, **fields)
        return _told(
            store, lambda session: enter_ward(session, ADMINISTRATOR, draft, POLICIES, now=at(0))
        )

    def in_force(ward_id: str, policy: str) -> tuple[Any, ...]:
        detail = {"policy": policy, "version": POLICIES[policy].version}
        return ("admin", "policy_in_force", "ward", ward_id, ward_id, detail)

    assert enter() == []
    assert enter(name="Ward A", timezone="UTC", policy="nz") == [
        ("admin", "ward_changed", "ward", "w1", "w1", {"changed": ["name", "timezone"]}),
        in_force("w1", "nz"),
    ]
    assert enter(id="w7") == [
        ("admin", "ward_entered", "ward", "w7", "w7", {}),
        in_force("w7", "common"),
    ]


@ON_BOTH_ENGINES
def test_shifts_training_and_what_a_ward_allows_are_noted_where_they_changed(store: Store) -> None:
    def enter(person: PersonDay, **fields: Any) -> list[tuple[Any, ...]]:
        draft = DayDraft("w1", (person,), **fields)
        return _told(store, lambda session: enter_day(session, CHARGE, draft, now=at(0)))

    shift = ShiftDraft("nurse-1", "w1", at(0), at(480), (Break(at(240), at(270)),), "s1")
    longer = replace(shift, ends_at=at(510), breaks=())
    trained = PersonDay(shift, ShiftWork(), Training(may_start=False))
    entered = enter(trained, limits=WardLimits(most_starts=2))
    again = enter(trained, limits=WardLimits(most_starts=2))
    changed = enter(PersonDay(longer, ShiftWork()))
    copied = _told(
        store,
        lambda session: copy_day(
            session,
            CHARGE,
            "w1",
            from_day=at(0).date(),
            to_day=at(1440).date(),
            now=at(1),
        ),
    )
    removed = _told(store, lambda session: remove_shift(session, CHARGE, "s1", now=at(2)))

    who, nina = "charge-1", ("staff", "nurse-1", "w1")
    short: dict[str, Any] = {
        "shift": "s1",
        "starts_at": "2026-03-03T10:00:00Z",
        "ends_at": "2026-03-03T18:00:00Z",
        "breaks": ["2026-03-03T14:00:00Z/2026-03-03T14:30:00Z"],
    }
    long = short | {"ends_at": "2026-03-03T18:30:00Z", "breaks": []}
    assert entered == [
        (who, "shift_entered", *nina, short),
        (who, "staff_changed", *nina, {"changed": ["training"]}),
        (who, "limits_changed", "ward", "w1", "w1", {"changed": ["most_starts"]}),
    ]
    assert again == []
    was = {f"{name}_was": told for name, told in short.items()}
    assert changed == [(who, "shift_changed", *nina, long | was)]
    assert [row[:-1] for row in copied] == [(who, "shift_entered", *nina)]
    assert copied[0][-1]["starts_at"] == "2026-03-04T10:00:00Z"
    assert removed == [(who, "shift_removed", *nina, long)]


@ON_BOTH_ENGINES
def test_tokens_wall_links_and_files_taken_away_are_noted_without_a_secret(store: Store) -> None:
    made = _told(store, lambda s: make_token(s, "Lab", Role.INTERFACE, ["w1"], now=at(0)))
    everywhere = _told(store, lambda s: make_token(s, "Lab", Role.MANAGER, None, now=at(0)))
    linked = _told(store, lambda s: make_wall_link(s, CHARGE, "w1", now=at(0)))
    with store.read() as session:
        (link,) = list_wall_links(session, CHARGE, "w1")
    revoked = _told(store, lambda s: revoke_wall_link(s, CHARGE, "w1", link.id, now=at(1)))
    taken = _told(store, lambda s: note_export(s, MANAGER, "w1", now=at(2)))

    token, other = made[0][3], everywhere[0][3]
    by_hand, lab = ("command-line", "token_made", "token"), {"name": "Lab"}
    assert made == [(*by_hand, token, None, {**lab, "role": "interface", "wards": ["w1"]})]
    assert everywhere == [(*by_hand, other, None, {**lab, "role": "manager", "wards": None})]
    assert linked == [("charge-1", "wall_link_made", "wall_link", link.id, "w1", {})]
    assert revoked == [("charge-1", "wall_link_revoked", "wall_link", link.id, "w1", {})]
    assert taken == [("manager-1", "exported", "history", None, "w1", {})]


def test_what_is_refused_is_not_noted(store: Store) -> None:
    before = links(store)

    with pytest.raises(Forbidden), store.write() as session:
        make_wall_link(session, NURSE, "w1", now=at(0))
    with pytest.raises(Forbidden), store.write() as session:
        note_export(session, OUTSIDER, "w1", now=at(0))

    assert links(store) == before


def _read(
    store: Store, actor: Actor, query: AuditQuery, source: Source = Source.TRAIL, **asked: Any
) -> Trail:
    with store.read() as session:
        return read_audit(session, actor, query, source, **asked)


@pytest.mark.parametrize(
    "actor", [NURSE, CHARGE, PROGRAM, OUTSIDER, OUTSIDE_CHARGE], ids=lambda actor: actor.id
)
def test_only_managers_and_administrators_may_read_the_trail(store: Store, actor: Actor) -> None:
    with pytest.raises(Forbidden, match="may not read the audit trail"):
        _read(store, actor, AuditQuery())


def test_a_manager_reads_what_is_of_the_own_wards_and_of_their_people(store: Store) -> None:
    own = _read(store, MANAGER, AuditQuery(), limit=1_000)
    everything = _read(store, ADMINISTRATOR, AuditQuery(), limit=1_000)

    staff_of_w1 = {"nurse-1", "nurse-2", "charge-1", "manager-1"}
    of_no_ward = [row for row in own.rows if row.ward_id != "w1"]
    seen = {(row.ward_id, row.subject_id) for row in of_no_ward if isinstance(row, Link)}
    assert seen == {(None, person) for person in staff_of_w1}
    assert {row.ward_id for row in everything.rows} == {"w1", "w2", None}
    assert (own.staff["nurse-1"], own.wards) == ("Nina Nurse", {"w1": "Ward 1", "w2": "Ward 2"})
    with pytest.raises(Forbidden, match="not one of your wards"):
        _read(store, MANAGER, AuditQuery(ward_id="w2"))


@ON_BOTH_ENGINES
def test_trail_and_log_are_told_as_one_by_pages(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.record(2, Issued())
    for minute in (1, 3):
        with charting.store.write() as session:
            make_wall_link(session, CHARGE, "w1", now=at(minute))
    query = AuditQuery(from_at=at(0), to_at=at(10))

    whole = _read(charting.store, MANAGER, query, Source.BOTH)
    first = _read(charting.store, MANAGER, query, Source.BOTH, limit=2)
    assert first.older is not None
    second = _read(charting.store, MANAGER, first.older, Source.BOTH, limit=2)
    log = _read(charting.store, MANAGER, query, Source.LOG)
    of_patient = _read(charting.store, MANAGER, query, Source.BOTH, record_number="T000001")
    of_nobody = _read(charting.store, MANAGER, query, Source.BOTH, record_number="T9")
    of_act = _read(
        charting.store, MANAGER, replace(query, act=AuditAct.WALL_LINK_MADE), Source.BOTH
    )

    newer, fact, older = whole.rows
    assert [type(row).__name__ for row in whole.rows] == ["Link", "Fact", "Link"]
    assert (first.rows, second.rows, second.older) == ((newer, fact), (older,), None)
    assert (log.rows, of_patient.rows, of_nobody.rows) == ((fact,), (fact,), ())
    assert of_act.rows == (newer, older)
    assert (set(of_patient.patients), of_patient.staff) == ({"p1"}, {"nurse-1": "Nina Nurse"})


def test_a_row_whose_time_was_altered_to_none_is_still_read(store: Store) -> None:
    tamper(store, "UPDATE audit SET at = 'noon' WHERE position = :place", place=1)

    (row,) = _read(store, ADMINISTRATOR, AuditQuery(act=AuditAct.WARD_ENTERED, ward_id="w1")).rows

    assert (noted_at(row), row.ward_id) == (NO_TIME, "w1")
