"""What was entered on the page of an identity check, as readings."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from server.domain.errors import Invalid
from server.domain.identity_check import Form
from server.domain.identity_reading import Item, Reading, confirmed, denied, scanned, typed
from server.pages.forms.entry import Entry
from server.pages.forms.ward_time import WardTimeError, read_clock, read_day

TYPED: Final = (
    Item.NAME,
    Item.DATE_OF_BIRTH,
    Item.RECORD_NUMBER,
    Item.BLOOD_GROUP,
    Item.UNIT_NUMBER,
)
EXPIRY_DAY: Final = "expiry_date"
EXPIRY_CLOCK: Final = "expiry_time"
NOTHING: Final = "nothing was entered; scan the wristband or the bag, or type what they say"


def read_entry(
    entry: Entry, form: Form, record_number: re.Pattern[str] | None = None
) -> tuple[Reading, ...]:
    """Answer everything that one form carries; `record_number` is what the site's look like.

    Raises `Wrong`, each refusal beside its field.
    """
    readings = tuple(_readings(entry, form, record_number))
    if not readings and not entry.errors:
        entry.refuse("scan", NOTHING)
    entry.check()
    return readings


def _readings(entry: Entry, form: Form, record_number: re.Pattern[str] | None) -> Iterator[Reading]:
    with _refusing(entry):
        if entry.raw("scan").strip():
            yield from scanned(entry.raw("scan"), record_number)
    for item in _chosen(entry, "confirmed"):
        with _refusing(entry):
            yield confirmed(item)
    yield from (denied(item) for item in _chosen(entry, "denied"))
    for item in TYPED:
        text = entry.text(item.value)
        if text is not None:
            with _refusing(entry):
                yield typed(item, text, form.said.get(item, ""))
    yield from _expiry(entry)


@contextmanager
def _refusing(entry: Entry) -> Iterator[None]:
    """Keep a refusal beside its field, and go on with the rest."""
    try:
        yield
    except Invalid as refusal:
        subject = "This scan " if refusal.field == "scan" else ""
        entry.refuse(refusal.field, f"{subject}{refusal.message}")


def _chosen(entry: Entry, name: str) -> Iterator[Item]:
    for value in entry.all(name):
        try:
            yield Item(value)
        except ValueError:
            entry.refuse(name, "is none of the items")


def _expiry(entry: Entry) -> Iterator[Reading]:
    """An expiry that was typed; without a time it is the end of the day."""
    day, clock = entry.text(EXPIRY_DAY), entry.text(EXPIRY_CLOCK)
    if day is None and clock is None:
        return
    try:
        date = read_day(day or "")
        at = f"T{read_clock(clock):%H:%M}" if clock else ""
    except WardTimeError as wrong:
        entry.refuse(EXPIRY_DAY, str(wrong))
        return
    yield typed(Item.EXPIRY, f"{date.isoformat()}{at}")
