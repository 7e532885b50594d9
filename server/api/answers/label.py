"""What a label says, as answered."""

from dataclasses import asdict, fields
from datetime import date, datetime
from typing import Any, Final

from pydantic import ConfigDict

from server.api.fields import BloodGroup, Given
from server.api.instants import Moment
from server.domain.labels import Structure
from server.services.read_label import Label

LOCAL: Final = "%Y-%m-%dT%H:%M"


class StructureAnswer(Given):
    """One structure in the order of the scan, with the fields of its kind beside these.

    `data_structure` is its number in ICCBBA ST-001, or its GS1 application identifier.
    """

    model_config = ConfigDict(frozen=True, extra="allow")

    kind: str
    data_structure: str


class LabelAnswer(Given):
    """A label. What it does not say is null.

    `expires_local` is the wall time on the label, without a zone; `expires_at` the instant on the
    ward that was named. `stops` are the reasons why the bag must not be given as it is, and
    `attributes` what the label shows of it, as an issue takes them.
    """

    unit_number: str | None
    check_character: str | None
    product_code: str | None
    collection: str | None
    division: str | None
    blood_group: BloodGroup | None
    expires_local: str | None
    expires_at: Moment | None
    record_number: str | None
    birth_date: date | None
    recipient_number: str | None
    staff_number: str | None
    stops: list[str]
    attributes: list[str]
    structures: list[StructureAnswer]


def label_answer(label: Label) -> LabelAnswer:
    """A label."""
    unit, product, group, expiry = label.unit_number, label.product, label.group, label.expiry
    return LabelAnswer(
        unit_number=unit and unit.number,
        check_character=unit and unit.check_character,
        product_code=product and product.code,
        collection=product and product.collection,
        division=label.division,
        blood_group=group and group.group,
        expires_local=expiry and f"{expiry.at:{LOCAL}}",
        expires_at=label.expires_at,
        record_number=label.record_number,
        birth_date=label.birth_date,
        recipient_number=label.recipient_number,
        staff_number=label.staff_number,
        stops=list(label.stops),
        attributes=list(label.attributes),
        structures=[_structure(one) for one in label.scan.structures],
    )


def _structure(one: Structure) -> StructureAnswer:
    facts = {field.name: getattr(one, field.name) for field in fields(one)}
    more = {name: getattr(one, name) for name in _MORE.get(one.kind, ())}
    said = {name: _plain(value) for name, value in (facts | more).items()}
    return StructureAnswer(**{**said, "kind": one.kind, "data_structure": one.data_structure})


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return f"{value:{LOCAL}}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return dict(value)
    return asdict(value) if hasattr(value, "__dataclass_fields__") else value


_MORE: Final = {
    "unit_number": (
        "facility",
        "year",
        "serial",
        "check_character",
        "flag_says",
        "is_of_bag",
        "stops",
    ),
    "product": ("collection_says", "stops"),
    "group": ("group",),
    "antigens": ("hbs_negative", "iga_deficient"),
    "platelet_antigens": ("no_high_titre",),
    "infection_markers": ("hev",),
}
"""What is worked out from the fields of a structure, and told with them."""
