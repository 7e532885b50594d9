"""The audit trail for programs and at the command line: read, noted elsewhere, checked."""

import re
from datetime import timedelta
from hashlib import sha256
from json import dumps
from typing import Any, Final

import pytest

from server.domain.audit import Subject, SubjectKind
from server.services.check_audit import keep_checking
from server.services.note_views import View, Views
from server.store.store import Store
from tests.api.board_api import NOON, BoardApi, problem_of
from tests.api.commands import Run, run, store
from tests.api.test_query_counts import counted
from tests.services.people import NURSE
from tests.services.trail import NO_SPACE, SPACE, links, run_plainly, tamper

__all__ = ["run", "store"]

HEX: Final = "[0-9a-f]{64}"
TAKE_OUT: Final = "DELETE FROM audit WHERE position = :place"


def test_rows_come_as_they_were_hashed_the_newest_first_by_pages(ward: BoardApi) -> None:
    ward.clock.now = NOON + timedelta(minutes=1)
    ward.get("/api/episodes/e1")
    keep_checking(ward.store, now=NOON)

    first = ward.get("/api/audit", "manager", limit=2).json()
    second = ward.get("/api/audit", "manager", limit=2, before=first["older"]).json()

    whole = links(ward.store)
    rows = [*first["rows"], *second["rows"]]
    newest = rows[0]["position"]
    assert [row["position"] for row in rows] == list(range(newest, newest - 4, -1))
    for row in rows:
        *told, found = row.values()
        assert sha256(dumps(told, separators=(",", ":")).encode()).hexdigest() == found
    assert first["older"] == newest - 1
    assert first["checked"]["at"] == "2026-03-03T12:00:00Z"
    assert (first["checked"]["broken"], re.fullmatch(HEX, first["checked"]["hash"])) != (None, None)
    assert {link.position for link in whole} >= {row["position"] for row in rows}


def test_rows_are_narrowed_and_a_wrong_question_is_named(ward: BoardApi) -> None:
    ward.get("/api/episodes/e1")
    reader = links(ward.store)[-1].actor_id
    asked: dict[str, Any] = {"actor_id": reader, "patient_id": "p1", "ward_id": "w1"}

    found = ward.get("/api/audit", "manager", act="viewed", **asked).json()["rows"]
    none = ward.get("/api/audit", "manager", to=NOON, **asked).json()["rows"]
    wrong = ward.get("/api/audit", "manager", act="looked", before=0)

    assert [(row["act"], row["subject_kind"], row["subject_id"]) for row in found] == [
        ("viewed", "episode", "e1")
    ]
    assert none == []
    assert {error["field"] for error in problem_of(wrong)["errors"]} == {"act", "before"}


def test_a_page_of_three_costs_as_many_queries_as_one_of_one(ward: BoardApi) -> None:
    for role in ("bedside_nurse", "charge_nurse", "interface"):
        ward.get("/api/episodes/e1", role)
    ward.token("manager")
    with counted(ward) as one:
        first = ward.get("/api/audit", "manager", limit=1, patient_id="p1").json()
    with counted(ward) as three:
        last = ward.get("/api/audit", "manager", limit=3, patient_id="p1").json()

    assert (len(first["rows"]), len(last["rows"]), len(three)) == (1, 3, len(one))


def test_the_head_is_printed_and_what_follows_is_checked_from_it(run: Run, store: Store) -> None:
    before = run("check")[1]
    result, printed, said = run("audit", "--head")
    place, head = printed.split()
    run("token", "--name", "A", "--role", "manager")

    after = run("check")[1]
    whole = run("audit", "--verify")
    since = run("audit", "--verify", "--from", place, "--head", head.upper())

    assert (result, place, re.fullmatch(HEX, head) is not None, said) == (0, "2", True, "")
    assert "holds   Audit trail: the chain is whole since the beginning, 2 rows checked\n" in before
    assert re.search(
        r"holds   Audit trail: the chain is whole since row 2, noted 20\S+Z, 1 row checked\n", after
    )
    assert whole == (0, "the chain is whole up to row 3, 3 rows checked\n", "")
    assert since == (0, "the chain is whole up to row 3, 1 row checked\n", "")
    assert len(links(store)) == 3


def test_a_trail_that_was_cut_off_shows_in_the_head_that_was_noted(run: Run, store: Store) -> None:
    place, head = run("audit", "--head")[1].split()
    tamper(store, TAKE_OUT, place=2)

    checked = run("check")
    asked = run("audit", "--verify", "--from", place, "--head", head)
    alone = run("audit", "--verify")
    given = run("audit", "--head")

    words = "row 2 was noted as the head and is gone: the end was cut off"
    broken = f"the chain is broken: {words}\nthe last row that is as it was written: 2\n"
    assert checked[0] == 1
    assert re.search(
        rf"BROKEN  Audit trail: the chain is broken since row 2, noted \S+: {words}\n", checked[1]
    )
    assert (asked, given) == ((1, "", broken), (1, "", broken))
    assert alone == (0, "the chain is whole up to row 1, 1 row checked\n", "")


def test_the_first_row_that_was_taken_out_is_named(run: Run, store: Store) -> None:
    tamper(store, TAKE_OUT, place=1)

    result, _, said = run("audit", "--verify")

    assert (result, said.splitlines()[0]) == (1, "the chain is broken: row 1 is missing")


def test_a_trail_that_cannot_be_written_and_looks_that_came_late_show_in_the_check(
    run: Run, store: Store
) -> None:
    views = Views(store)
    run_plainly(store, NO_SPACE)
    views.see(View(NURSE, Subject(SubjectKind.BOARD), "w1", NOON))
    views.write()
    full = run("check")
    run_plainly(store, SPACE)
    views.write()

    late = run("check")

    assert full[0] == 1
    assert "BROKEN  Audit trail: it cannot be written: the disk is full\n" in full[1]
    assert re.search(
        r'holds   Audit trail: looks were noted late: row 4, \{.*"views":1\}\n', late[1]
    )
    assert (
        "holds   Audit trail: the chain is whole since the beginning, 4 rows checked\n" in late[1]
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "head: expected --head alone, or --verify"),
        (("--from", "1"), "head: expected --head alone, or --verify"),
        (("--head", "abc"), "head: expected --head alone, or --verify"),
        (("--verify", "--from", "1"), "head: expected the 64 hexadecimal characters"),
        (("--verify", "--head", "0" * 64), "from: expected the place of a row"),
        (("--verify", "--from", "0", "--head", "0" * 64), "from: expected the place of a row"),
    ],
)
def test_options_that_ask_for_nothing_are_explained(
    run: Run, options: tuple[str, ...], words: str
) -> None:
    result, printed, said = run("audit", *options)

    assert (result, printed) == (1, "")
    assert said.startswith(f"fourth-hour audit: {words}")


def test_taking_files_away_is_noted_before_they_are_written(run: Run, store: Store) -> None:
    result, _, said = run("export", "--ward", "w1", "e.csv", "o.csv")
    refused = run("export", "--ward", "w9", "e.csv", "o.csv")

    row = links(store)[-1]
    assert (result, said, refused[0]) == (0, "", 1)
    assert (row.position, row.actor_id, row.act, row.ward_id) == (
        3,
        "command-line",
        "exported",
        "w1",
    )
