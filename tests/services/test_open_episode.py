"""An episode opened directly; the same one again gives what is there."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.request import Request
from server.domain.words import Component
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.open_episode import EpisodeDraft, open_episode
from tests.domain.builders import at
from tests.services.charting import Charting, ids_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, PROGRAM

DRAFT = EpisodeDraft(
    "e1", "p1", "w1", "4", Component.PLATELETS, 200, nurse_id="nurse-1", requested_at=at(-5)
)


def _open(charting: Charting, draft: EpisodeDraft = DRAFT, actor: Actor = CHARGE) -> Request:
    with charting.store.write() as session:
        return open_episode(session, actor, draft, now=at(0))


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [CHARGE, PROGRAM], ids=lambda one: one.id)
def test_an_episode_is_kept_as_asked_for(charting: Charting, actor: Actor) -> None:
    opened = _open(charting, actor=actor)

    assert opened == Request(
        id="e1",
        patient_id="p1",
        ward_id="w1",
        bed="4",
        component=Component.PLATELETS,
        recorded_at=at(0),
        recorded_by=actor.id,
        volume_ml=200,
        nurse_id="nurse-1",
        requested_at=at(-5),
    )
    (row,) = charting.board(0).rows
    assert (row.picture.case.request, row.nurse_name) == (opened, "Nina Nurse")


def test_an_episode_without_an_id_is_given_one(charting: Charting) -> None:
    opened = _open(charting, replace(DRAFT, id=None))

    assert ids_of(charting.board(0)) == [opened.id]


@ON_BOTH_ENGINES
def test_the_same_again_stores_nothing(charting: Charting) -> None:
    first = _open(charting)
    before = charting.everything()

    assert _open(charting) == first
    assert charting.everything() == before


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("patient_id", "p2"),
        ("ward_id", "w2"),
        ("bed", "5"),
        ("component", Component.PLASMA),
        ("volume_ml", None),
        ("nurse_id", None),
        ("requested_at", at(-6)),
        ("history", True),
    ],
)
def test_another_of_the_same_id_is_a_conflict(charting: Charting, name: str, value: object) -> None:
    _open(charting)
    before = charting.everything()
    changes: dict[str, Any] = {name: value}

    with pytest.raises(Conflict, match=f"an episode of this id exists with another {name}"):
        _open(charting, replace(DRAFT, **changes), PROGRAM)

    assert charting.everything() == before


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"volume_ml": 10_001}, "volume_ml"),
        ({"bed": "x" * 201}, "bed"),
        ({"requested_at": at(2, 1)}, "requested_at"),
    ],
)
def test_what_cannot_be_is_refused(charting: Charting, changes: dict[str, Any], field: str) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        _open(charting, replace(DRAFT, **changes))

    assert (refused.value.field, charting.everything()) == (field, before)


@pytest.mark.parametrize(
    ("changes", "what"), [({"ward_id": "w7"}, "the ward"), ({"patient_id": "p7"}, "the patient")]
)
def test_an_episode_of_nobody_or_nowhere_is_refused(
    charting: Charting, changes: dict[str, Any], what: str
) -> None:
    with pytest.raises(NotFound, match=f"{what} was not found"):
        _open(charting, replace(DRAFT, **changes), PROGRAM)


@pytest.mark.parametrize(
    "actor", [NURSE, MANAGER, ADMINISTRATOR, OUTSIDE_CHARGE], ids=lambda one: one.id
)
def test_nobody_else_opens_one(charting: Charting, actor: Actor) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden):
        _open(charting, DRAFT, actor)

    assert charting.everything() == before
