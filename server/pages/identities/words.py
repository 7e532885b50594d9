"""Items of an identity check in words, and what was read of them as people write it."""

from datetime import date, datetime
from typing import Final

from server.domain.identity_reading import How, Item, Reading
from server.domain.labels import DIVIDED_APART
from server.domain.labels.unit_numbers import PRODUCT_CODE, SHAPE, UnitNumber
from server.domain.picture import Picture
from server.domain.requirements import WORDS, requirement_of
from server.domain.wording import day_text

ITEM: Final = {
    Item.NAME: "Name",
    Item.DATE_OF_BIRTH: "Date of birth",
    Item.RECORD_NUMBER: "Record number",
    Item.BLOOD_GROUP: "Blood group",
    Item.EXPIRY: "Expiry",
    Item.UNIT_NUMBER: "Unit number",
    Item.PRODUCT: "Product",
    Item.SPECIAL_REQUIREMENTS: "Special requirements",
}
NOT_ON_RECORD: Final = "not on record: read what the paper form says"
CONFIRMED: Final = {
    Item.NAME: "as the patient says it",
    Item.DATE_OF_BIRTH: "as the patient says it",
    Item.SPECIAL_REQUIREMENTS: "as on the bag",
}


def reading_text(reading: Reading) -> str:
    """Answer what somebody read of an item."""
    if reading.how is How.CONFIRMED:
        return CONFIRMED[reading.item]
    if reading.how is How.DENIED:
        return f"does not agree: {reading.value}" if reading.value else "does not agree"
    if reading.item is Item.NAME:
        return reading.entered
    return value_text(reading.item, reading.value)


def value_text(item: Item, value: str) -> str:
    """Answer a value for comparing as people write it."""
    if item is Item.DATE_OF_BIRTH:
        return day_text(date.fromisoformat(value))
    if item is Item.EXPIRY:
        at = datetime.fromisoformat(value)
        return f"{day_text(at)}, {at:%H:%M}"
    if item is Item.BLOOD_GROUP:
        return value.replace("-", "\N{MINUS SIGN}")
    if item is Item.UNIT_NUMBER and SHAPE.fullmatch(value):
        return UnitNumber(value).shown
    return value


def product_note(said: str, reading: Reading) -> str:
    """Answer why a product code cannot agree though the bag may be right; the check stays stopped.

    `said` is what the form says of it; empty where the two codes can be compared.
    """
    code, _, division = reading.value.partition(" ")
    own = said.partition(" ")[0]
    if own == code and division == DIVIDED_APART:
        return (
            "The code on the bag says that its division stands in another bar code (99). Scan both "
            "as one; what was scanned alone is not compared."
        )
    if own and PRODUCT_CODE.fullmatch(own) is None:
        return f"The issue recorded {own}, a code of another kind than the bar code of the bag."
    return ""


def form_text(picture: Picture, item: Item, said: str) -> str:
    """Answer what the form says of an item; `said` is it for comparing, empty if unknown."""
    if item is Item.NAME:
        return picture.case.patient.full_name
    if item is Item.RECORD_NUMBER:
        return picture.case.patient.record_number
    if item is Item.SPECIAL_REQUIREMENTS:
        return ", ".join(_requirement(text) for text in picture.case.request.requirements)
    return value_text(item, said) if said else NOT_ON_RECORD


def _requirement(text: str) -> str:
    known = requirement_of(text)
    return text if known is None else WORDS[known]
