"""The label of an issued bag as it stands in the form: scanned into it, or typed."""

from typing import Any, Final
from zoneinfo import ZoneInfo

from server.domain.errors import Invalid
from server.domain.label_attributes import attributes_of
from server.domain.labels import (
    Expiry,
    Group,
    Product,
    Scan,
    UnitNumber,
    read_scan,
    read_unit_number,
    split_product,
)
from server.domain.site import Site
from server.pages.forms.entry import Entry
from server.services.read_label import instant_on_ward

Data = dict[str, Any]

_SCANNED: Final = ("=", "&", "]")


def issued_label(data: Data, entry: Entry, zone: ZoneInfo, site: Site) -> Data:
    """Answer the fields of an issue with its label read, every refusal beside its field.

    A number that was typed needs its check character. A scanner may have typed what it read into
    the field itself, several labels of the bag as one: what they say fills the blank fields, codes
    of special testing by the site's own table.
    """
    typed = data["unit_number"]
    try:
        if typed is not None and typed.startswith(_SCANNED):
            data |= _scanned(data, read_scan(typed), zone, site)
        elif typed is not None:
            data["unit_number"] = read_unit_number(typed).number
    except Invalid as wrong:
        entry.refuse("unit_number", wrong.message)
    return data | _product(data)


def _scanned(data: Data, scan: Scan, zone: ZoneInfo, site: Site) -> Data:
    unit, product = scan.find(UnitNumber), scan.find(Product)
    group, expiry = scan.find(Group), scan.find(Expiry)
    for label in (unit, product, group):
        if label is not None and label.stops:
            raise Invalid("unit_number", f"the bag must not be given: {label.stops}")
    if unit is None:
        raise Invalid("unit_number", "is another label; expected that of the unit number")
    said = {
        "product_code": product and product.printed,
        "blood_group": group and group.group,
        "expires_at": expiry and instant_on_ward(expiry.at, zone),
    }
    blank = {name: value for name, value in said.items() if data[name] is None}
    shown = dict.fromkeys((*data["attributes"], *attributes_of(scan.structures, site)))
    return {"unit_number": unit.number, **blank, "attributes": tuple(shown)}


def _product(data: Data) -> Data:
    """Code and division apart: the label prints them as one, with how it was collected between."""
    code, division = data["product_code"], data["division"]
    if code is None:
        return {}
    plain, own = split_product(code)
    return {"product_code": plain, "division": division or own}
