"""A small ward for the tests of the store, on each engine."""

import pytest

from server.store.patients import save_patient
from server.store.requests import add_requests
from server.store.store import Store
from server.store.wards import Ward, add_ward
from tests.databases import address, postgres, sqlite_template, store
from tests.domain.builders import at
from tests.store.facts import a_patient, a_request

__all__ = ["address", "postgres", "sqlite_template", "store"]


@pytest.fixture
def ward(store: Store) -> Ward:
    """Ward `w1` with two patients and an episode of each: `e1` of `p1`, `e2` of `p2`."""
    entered = Ward("w1", "Ward 4", "Europe/London", at(-600))
    with store.write() as session:
        add_ward(session, entered)
        for number in (1, 2):
            patient = a_patient(f"p{number}")
            save_patient(session, patient, recorded_at=at(-600), recorded_by="importer")
            add_requests(session, [a_request(f"e{number}", patient.id)])
    return entered
