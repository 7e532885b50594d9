"""What a route says that it shows, and how the thing and the ward are read from an address."""

from server.domain.audit import Subject, SubjectKind
from server.services.shown import SHOWN, shown_by, shows, shows_no_patient

ADDRESS = {"id": "e1", "ward_id": "w1", "more": "x"}


@shows(SubjectKind.EPISODE, "id", ward="ward_id")
def _one_unit() -> str:
    return "a unit"


@shows(SubjectKind.OWN_LIST)
def _everything() -> str:
    return "a list"


@shows_no_patient
def _nobody() -> str:
    return "a policy"


def _silent() -> str:
    return "a route that says nothing"


def test_the_thing_and_the_ward_are_read_from_the_address() -> None:
    unit, everything = shown_by(_one_unit), shown_by(_everything)

    assert unit is not None
    assert everything is not None
    assert unit.named(ADDRESS) == (Subject(SubjectKind.EPISODE, "e1"), "w1")
    assert unit.named({}) == (Subject(SubjectKind.EPISODE), None)
    assert everything.named(ADDRESS) == (Subject(SubjectKind.OWN_LIST), None)


def test_a_route_that_shows_nobody_is_told_from_one_that_does_not_say() -> None:
    assert (shown_by(_nobody), hasattr(_nobody, SHOWN)) == (None, True)
    assert (shown_by(_silent), hasattr(_silent, SHOWN)) == (None, False)


def test_a_route_answers_as_it_did() -> None:
    assert [one() for one in (_one_unit, _everything, _nobody, _silent)] == [
        "a unit",
        "a list",
        "a policy",
        "a route that says nothing",
    ]
