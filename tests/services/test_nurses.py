"""Who may be given units of a ward."""

from server.services.nurses import nurses_of_ward
from tests.services.charting import Charting


def test_nurses_of_a_ward_are_those_who_work_on_it(charting: Charting) -> None:
    with charting.store.read() as session:
        listed = [one.id for one in nurses_of_ward(session, "w1")]

    assert listed == ["charge-1", "nurse-2", "nurse-1"]
