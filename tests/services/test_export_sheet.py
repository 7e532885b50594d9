"""Whoever takes a file away may, and it stands in the audit trail with what was in it."""

import pytest

from server.domain.audit import SubjectKind
from server.domain.words import Role
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.export_sheet import Taken, export_sheet, may_export, require_export
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, PROGRAM, W1
from tests.services.trail import links, said

FILE = Taken("breaches", SubjectKind.BREACHES, "xlsx", 12, ("first check", "by night"), True)
BARE = Taken("rates", SubjectKind.REVIEW, "csv", 3, (), False)
MAY = {
    CHARGE: (True, True),
    MANAGER: (True, True),
    ADMINISTRATOR: (False, True),
    NURSE: (False, False),
    PROGRAM: (False, False),
    OUTSIDE_CHARGE: (False, False),
}


@ON_BOTH_ENGINES
def test_an_export_is_noted_with_what_was_asked_how_many_rows_and_whether_named(
    charting: Charting,
) -> None:
    before = len(links(charting.store))
    with charting.store.write() as session:
        export_sheet(session, MANAGER, "w1", FILE, now=at(0))
        export_sheet(session, ADMINISTRATOR, "w1", BARE, now=at(1))

    assert said(
        charting.store, "actor_id", "act", "subject_kind", "ward_id", "detail", after=before
    ) == [
        (
            "manager-1",
            "exported",
            "breaches",
            "w1",
            (
                '{"format":"xlsx","identity":"with","only":"first check; by night","rows":12,'
                '"sheet":"breaches"}'
            ),
        ),
        (
            "admin",
            "exported",
            "review",
            "w1",
            '{"format":"csv","identity":"without","only":"","rows":3,"sheet":"rates"}',
        ),
    ]


@pytest.mark.parametrize(("actor", "allowed"), MAY.items(), ids=lambda one: getattr(one, "id", ""))
def test_files_are_taken_by_role_and_with_identity_by_fewer(
    charting: Charting, actor: Actor, allowed: tuple[bool, bool]
) -> None:
    before = len(links(charting.store))
    for with_identity, is_allowed in zip((True, False), allowed, strict=True):
        taken = Taken("units", SubjectKind.ACCOUNTS, "csv", 1, (), with_identity)
        assert may_export(actor, "w1", with_identity=with_identity) is is_allowed
        if not is_allowed:
            with charting.store.write() as session, pytest.raises(Forbidden):
                export_sheet(session, actor, "w1", taken, now=at(0))

    assert len(links(charting.store)) == before


def test_a_ward_that_is_not_there_has_no_files(charting: Charting) -> None:
    everywhere = Actor("m", "M", Role.MANAGER, None)
    with charting.store.read() as session:
        require_export(session, Actor("m", "M", Role.MANAGER, W1), "w1", with_identity=True)
        with pytest.raises(NotFound):
            require_export(session, everywhere, "nowhere", with_identity=False)
