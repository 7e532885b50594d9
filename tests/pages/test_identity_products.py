"""A product that does not agree in an identity check says why, if its codes are of two kinds."""

from dataclasses import replace

import pytest

from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.identity_page import HERE
from tests.services.identity import ISSUED
from tests.services.people import NURSE

APART = "The code on the bag says that its division stands in another bar code (99)."
OTHER_KIND = "The issue recorded RC-LD, a code of another kind than the bar code of the bag."


@pytest.mark.parametrize(
    ("product", "scan", "said"),
    [
        ({"product_code": "E0336", "division": "000025"}, "=<E0336V99", APART),
        ({"product_code": "RC-LD", "division": None}, "=<E0336V00", OTHER_KIND),
        ({"product_code": "E0336", "division": "A0"}, "=<E0336VB0", ""),
    ],
    ids=["division apart", "code of another kind", "another pack"],
)
def test_a_product_that_cannot_be_compared_says_why(
    hospital: Hospital, product: dict[str, str | None], scan: str, said: str
) -> None:
    hospital.charting.open()
    hospital.charting.record(0, replace(ISSUED, **product))  # type: ignore[arg-type]  # by name
    hospital.clock.now = at(5)
    nurse = hospital.visit(NURSE)

    nurse.done(HERE, "scan", scan=scan)

    page = nurse.see(HERE)
    assert "Stop: this does not agree Product" in " ".join(page.text.replace("!!!", "").split())
    told = [one for one in (APART, OTHER_KIND) if one in page.text]
    assert told == ([said] if said else [])
