"""Classification afterwards: for managers of the ward, and not before the unit has ended."""

from dataclasses import replace

import pytest

from server.domain.definition import Verdict
from server.domain.payloads import Completed
from server.services.actor import Actor
from server.services.classify_reaction import classify_reaction
from server.services.errors import Conflict, Forbidden
from tests.domain.builders import FULL, at
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDER, PROGRAM, W2


def finished(charting: Charting) -> None:
    charting.run()
    charting.observe(25, observed=replace(FULL, temperature_c=38.1))
    charting.record(60, Completed())


def test_a_manager_reads_what_the_record_meets(charting: Charting) -> None:
    finished(charting)

    found = classify_reaction(MANAGER, charting.episode(70))

    met = {one.definition.key: one.at for one in found if one.finding.verdict is Verdict.MET}
    assert met == dict.fromkeys(
        ("cdc_febrile", "uk_febrile", "au_febrile", "lifeblood_febrile", "nl_febrile"), at(25)
    )


@pytest.mark.parametrize(
    "actor",
    [NURSE, CHARGE, ADMINISTRATOR, PROGRAM, OUTSIDER, replace(MANAGER, wards=W2)],
    ids=lambda one: f"{one.id}-{one.wards}",
)
def test_nobody_else_does(charting: Charting, actor: Actor) -> None:
    finished(charting)

    with pytest.raises(Forbidden):
        classify_reaction(actor, charting.episode(70))


def test_not_while_the_unit_is_given(charting: Charting) -> None:
    charting.run()

    with pytest.raises(Conflict, match="when the unit has ended"):
        classify_reaction(MANAGER, charting.episode(30))
