"""The chain of the audit trail, hashed a second time by hand, and broken in every way."""

import re
from dataclasses import replace
from hashlib import sha256
from typing import Any, Final

import pytest

from server.domain.audit import AuditAct, AuditEntry, Subject, SubjectKind
from server.domain.audit_chain import (
    BEGINNING,
    Break,
    Fault,
    Head,
    Link,
    chained,
    fault_of,
    hash_of,
)
from tests.domain.builders import at

ZEROS: Final = "0" * 64
ENTRY: Final = AuditEntry(
    at(0),
    "nurse-1",
    "Zoë “Z” Ångström",
    "bedside_nurse",
    AuditAct.VIEWED,
    access_id="a1",
    subject=Subject(SubjectKind.EPISODE, "e1"),
    ward_id="w1",
    patient_id="p1",
    detail={"wards": ["w2", "ü"], "a": 1, "none": None, "yes": True},
)
BARE: Final = AuditEntry(at(1), "system", "Fourth Hour", "interface", AuditAct.SIGNED_OUT)
# Written out by hand from the description in server/domain/audit_chain.py.
FIRST_BYTES: Final = (
    rb'[1,"2026-03-03T10:00:00Z","nurse-1","Zo\u00eb \u201cZ\u201d \u00c5ngstr\u00f6m",'
    rb'"bedside_nurse","a1","viewed","episode","e1","w1","p1",'
    rb'"{\"a\":1,\"none\":null,\"wards\":[\"w2\",\"\\u00fc\"],\"yes\":true}",'
    b'"' + ZEROS.encode() + b'"]'
)
FIRST: Final = Link(
    1,
    "2026-03-03T10:00:00Z",
    "nurse-1",
    "Zoë “Z” Ångström",
    "bedside_nurse",
    "a1",
    "viewed",
    "episode",
    "e1",
    "w1",
    "p1",
    '{"a":1,"none":null,"wards":["w2","\\u00fc"],"yes":true}',
    ZEROS,
    sha256(FIRST_BYTES).hexdigest(),
)


def test_a_row_is_hashed_as_it_is_described() -> None:
    second = chained(BARE, FIRST.head)

    said = (
        '[2,"2026-03-03T10:01:00Z","system","Fourth Hour","interface",null,"signed_out",'
        f'null,null,null,null,"{{}}","{FIRST.hash}"]'
    )
    assert chained(ENTRY, BEGINNING) == FIRST
    assert (second.previous, second.hash) == (FIRST.hash, sha256(said.encode()).hexdigest())


@pytest.mark.parametrize("name", Link.__match_args__[:-1])
def test_every_column_is_covered_by_the_hash(name: str) -> None:
    other: dict[str, Any] = {name: 7 if name == "position" else "other"}

    assert hash_of(replace(FIRST, **other)) != FIRST.hash


def test_what_follows_is_no_fault_and_what_does_not_is_named() -> None:
    second = chained(BARE, FIRST.head)
    altered = replace(second, actor_name="Somebody else")
    other = chained(replace(BARE, actor_id="other"), replace(FIRST.head, hash="f" * 64))

    found = [
        fault_of(FIRST, BEGINNING),
        fault_of(second, FIRST.head),
        fault_of(second, BEGINNING),
        fault_of(altered, FIRST.head),
        fault_of(other, FIRST.head),
        fault_of(replace(other, at="x"), FIRST.head),
    ]

    assert found == [
        None,
        None,
        Break(1, Fault.MISSING),
        Break(2, Fault.ALTERED),
        Break(2, Fault.UNLINKED),
        Break(2, Fault.MOVED),
    ]


@pytest.mark.parametrize("fault", Fault)
def test_a_break_is_said_in_words_that_name_the_row(fault: Fault) -> None:
    assert re.match(r"row 7 ", Break(7, fault).words)
    assert Break(7, Fault.UNLINKED).words == (
        "row 7 does not follow from row 6: one of the two was rewritten"
    )


def test_a_head_is_the_place_and_hash_of_the_last_row() -> None:
    assert (FIRST.head, BEGINNING) == (Head(1, FIRST.hash), Head(0, ZEROS))
