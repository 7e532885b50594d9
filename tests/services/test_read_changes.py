"""What streams resume from: the units that changed, or that the whole board has to be read."""

import pytest

from server.live.news import News, Pulse
from server.services import read_changes
from server.services.read_changes import FAR
from tests.domain.builders import at
from tests.services.charting import Charting


@pytest.fixture
def changed(charting: Charting) -> Charting:
    """Two units were opened, each in a commit of its own."""
    charting.open("e1")
    charting.open("e2")
    return charting


def _revision(charting: Charting) -> int:
    return charting.board(0).revision


def test_whoever_is_up_to_date_hears_nothing(changed: Charting) -> None:
    revision = _revision(changed)

    news = read_changes.Changes(changed.store).news("w1", revision)

    assert news == News("w1", revision)


def test_since_a_revision_those_that_changed(changed: Charting) -> None:
    revision = _revision(changed)

    news = read_changes.Changes(changed.store).news("w1", revision - 1)

    assert news == News("w1", revision, ("e2",))


@pytest.mark.parametrize("since", [10**6, -FAR])
def test_from_nowhere_near_the_whole_board(changed: Charting, since: int) -> None:
    news = read_changes.Changes(changed.store).news("w1", since)

    assert news == News("w1", _revision(changed), whole=True)


def test_of_too_many_units_the_whole_board(
    changed: Charting, monkeypatch: pytest.MonkeyPatch
) -> None:
    revision = _revision(changed)
    monkeypatch.setattr(read_changes, "FAR", 1)
    with changed.store.write() as session:
        session.touch("w1", ["e1", "e2"])

    news = read_changes.Changes(changed.store).news("w1", revision)

    assert news == News("w1", revision + 1, whole=True)
    assert changed.board(at(0)).revision == revision + 1


def test_the_pulse_is_every_ward_s_revision_and_the_last_tick(changed: Charting) -> None:
    changes = read_changes.Changes(changed.store)

    before = changes.pulse()
    changed.tick(5)

    revisions = {ward: changed.board(5, ward_id=ward).revision for ward in ("w1", "w2")}
    assert (before.checked_at, changes.pulse()) == (None, Pulse(revisions, at(5)))
