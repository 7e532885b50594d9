"""The shipped example of a site's table, and sites with invented products."""

from dataclasses import replace
from datetime import date
from typing import Final

from server.domain.site import CompatibilityTable, Site
from server.site import load_site
from server.site.coded import read_products, read_special_testing

# Invented: no licence-bound code stands for these here.
PRODUCTS: Final = """\
product_code,component,irradiated,washed,leucodepleted
E9990,red_cells,yes,no,yes
E9991,red_cells,no,,yes
E9992,plasma,,,
"""
SPECIAL_TESTING: Final = """\
special_testing_code,cmv_negative,hev_negative
N9990,yes,
"""


def example_table() -> CompatibilityTable:
    """The table that is shipped as an example, unsigned."""
    table = load_site().compatibility
    assert table is not None
    return table


def signed_table() -> CompatibilityTable:
    """The same, signed off by an invented clinician."""
    return replace(example_table(), signed_by="Dr Wren Okafor", signed_on=date(2026, 2, 1))


EXAMPLE: Final = load_site()
SIGNED: Final = Site(
    compatibility=signed_table(),
    products=read_products(PRODUCTS),
    special_testing=read_special_testing(SPECIAL_TESTING),
)
