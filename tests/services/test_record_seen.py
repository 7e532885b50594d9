"""Facts of the same kind that others recorded meanwhile have to be looked at before another."""

import pytest

from server.domain.payloads import Note, Observed, Voided
from server.services.errors import Overtaken
from tests.domain.builders import FULL
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import COLLEAGUE, NURSE


@ON_BOTH_ENGINES
def test_what_another_recorded_unseen_refuses_the_same_kind(charting: Charting) -> None:
    charting.run()
    seen = charting.state().revision
    other = charting.observe(25, actor=COLLEAGUE)
    before = charting.everything()

    with pytest.raises(Overtaken) as refused:
        charting.record(26, FULL, seen_revision=seen)

    assert [one.id for one in refused.value.events] == [other.event_id]
    assert charting.everything() == before
    assert charting.record(26, FULL, seen_revision=other.revision).revision > other.revision


def test_another_kind_one_s_own_and_a_mistake_do_not_stand_in_the_way(charting: Charting) -> None:
    charting.run()
    seen = charting.state().revision
    charting.record(24, Note("asleep"), actor=COLLEAGUE)
    charting.record(25, Observed(temperature_c=36.8), actor=NURSE)
    mistake = charting.record(25, FULL, actor=COLLEAGUE)
    charting.record(26, Voided(mistake.event_id, "other bed"), actor=COLLEAGUE)

    charting.record(27, FULL, seen_revision=seen)

    assert charting.episode(27).events[-1].payload == FULL


def test_who_does_not_say_what_they_saw_is_not_asked(charting: Charting) -> None:
    charting.run()
    charting.observe(25, actor=COLLEAGUE)

    charting.record(26, FULL)

    assert len(charting.episode(26).observations) == 3
