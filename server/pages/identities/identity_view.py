"""The page of an identity check, drawn for one reader."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from server.domain.identity_check import BAG_ITEMS, PATIENT_ITEMS, CheckState
from server.domain.identity_reading import CONFIRMABLE, Item, Reading
from server.domain.wording import COMPONENT
from server.pages.compatibility_view import CompatibilityView, compatibility_view
from server.pages.event_forms.words import BLOOD_GROUPS
from server.pages.forms.fields import Options
from server.pages.identities.seen import Seen
from server.pages.identities.words import ITEM, form_text, product_note, reading_text
from server.pages.links import episode_href, identity_href

SPOKEN: Final = tuple(item for item in PATIENT_ITEMS if item in CONFIRMABLE)
OF_BAG: Final = (*BAG_ITEMS, Item.PRODUCT, Item.SPECIAL_REQUIREMENTS)


@dataclass(frozen=True, slots=True)
class ItemView:
    """One item. state: `open`, `read`, `unread`, `matched`, `mismatched`; no text where unknown.

    `form` is what the form says: of what the patient says and of what several marks show while it
    is read, of the rest once the check has ended. `readings` are (whose, what), the reader first.
    `note` says why it cannot agree where its codes are not of one kind.
    """

    key: str
    words: str
    state: str
    form: str
    readings: tuple[tuple[str, str], ...]
    note: str


@dataclass(frozen=True, slots=True)
class Part:
    """Patient against form, or form against bag."""

    title: str
    items: tuple[ItemView, ...]


@dataclass(frozen=True, slots=True)
class EntryView:
    """What the reader may enter: `spoken` by the patient, `marks` on the bag, `by_hand`.

    `choices` are the items that may turn out not to agree.
    """

    spoken: tuple[ItemView, ...]
    marks: tuple[ItemView, ...]
    by_hand: tuple[str, ...]
    choices: Options
    groups: Options = BLOOD_GROUPS


@dataclass(frozen=True, slots=True)
class WaitView:
    """For whom the reader waits, in words; `signs` offers to sign for the second person here."""

    words: str
    href: str
    signs: bool


@dataclass(frozen=True, slots=True)
class IdentityView:
    """The page. state: `new`, or that of the check. `entry` and `wait` are None where not due."""

    bed: str
    patient: str
    component: str
    unit_href: str
    href: str
    state: str
    check_id: str
    checkers: int
    reader: str
    is_seated: bool
    joins: str
    runs: bool
    charts: bool
    is_issued: bool
    parts: tuple[Part, ...]
    done: int
    of: int
    entry: EntryView | None
    wait: WaitView | None
    mismatches: tuple[str, ...]
    suits: CompatibilityView | None


def identity_view(seen: Seen) -> IdentityView:
    """Answer the page."""
    look, check = seen.look, seen.check
    request = look.read.picture.case.request
    items = tuple(_items(seen))
    return IdentityView(
        bed=request.bed,
        patient=look.read.picture.case.patient.full_name,
        component=COMPONENT[request.component],
        unit_href=episode_href(request.id),
        href=identity_href(request.id),
        state=seen.state,
        check_id="" if check is None else check.id,
        checkers=look.checkers,
        reader=seen.reader.name,
        is_seated=_is_seated(seen),
        joins=seen.other if seen.may_join else "",
        runs=seen.runs,
        charts=seen.charts,
        is_issued=seen.is_issued,
        parts=_parts(items),
        done=len(look.form.asked) - len(seen.remaining),
        of=len(look.form.asked),
        entry=_entry(items) if seen.reads else None,
        wait=wait_view(seen) if seen.waits else None,
        mismatches=tuple(one.words for one in items if one.state == "mismatched"),
        suits=compatibility_view(look.read.picture) if seen.is_issued else None,
    )


def wait_view(seen: Seen) -> WaitView:
    """Answer for whom the reader waits."""
    href = identity_href(seen.look.read.picture.case.request.id, "/waiting")
    if seen.wants_second:
        return WaitView("Waiting for the second person.", href, signs=not _is_seated(seen))
    items = "1 item" if seen.other_left == 1 else f"{seen.other_left} items"
    return WaitView(f"{seen.other} is reading: {items} left.", href, signs=False)


def _is_seated(seen: Seen) -> bool:
    return seen.reader.id != seen.visitor.id


def _parts(items: Iterable[ItemView]) -> tuple[Part, ...]:
    listed = tuple(items)
    return (
        Part("Patient against form", _of(listed, PATIENT_ITEMS)),
        Part("Form against bag", _of(listed, OF_BAG)),
    )


def _of(items: Iterable[ItemView], wanted: Collection[Item]) -> tuple[ItemView, ...]:
    return tuple(item for item in items if item.key in wanted)


def _entry(items: tuple[ItemView, ...]) -> EntryView:
    left = tuple(item for item in items if item.state == "open")
    return EntryView(
        spoken=_of(left, SPOKEN),
        marks=_of(left, {Item.SPECIAL_REQUIREMENTS}),
        by_hand=tuple(item.key for item in left),
        choices=tuple((item.key, item.words) for item in items),
    )


def _items(seen: Seen) -> Iterable[ItemView]:
    form, picture = seen.look.form, seen.look.read.picture
    ended = seen.state not in ("new", CheckState.OPEN)
    outcome = {one.item: one.matched for one in seen.look.items} if ended else {}
    for item in Item:
        mine, theirs = _texts(seen.mine, item), _texts(seen.theirs, item)
        if item not in form.asked and not mine and not theirs:
            continue
        shown = item in CONFIRMABLE or ended or item not in form.said
        yield ItemView(
            key=item.value,
            words=ITEM[item],
            state=_outcome(outcome, item) if ended else "read" if mine else "open",
            form=form_text(picture, item, form.said.get(item, "")) if shown else "",
            readings=(
                *((seen.reader.name, text) for text in mine),
                *((seen.other, text) for text in theirs),
            ),
            note=_note(seen, item) if outcome.get(item) is False else "",
        )


def _note(seen: Seen, item: Item) -> str:
    """Why the product cannot agree, in words; empty for every other item."""
    said, readings = seen.look.form.said.get(item, ""), (*seen.mine, *seen.theirs)
    if item is not Item.PRODUCT:
        return ""
    notes = [product_note(said, one) for one in readings if one.item is item]
    return next((note for note in notes if note), "")


def _texts(readings: Iterable[Reading], item: Item) -> tuple[str, ...]:
    return tuple(reading_text(one) for one in readings if one.item is item)


def _outcome(matched: Mapping[str, bool], item: Item) -> str:
    """How an item of a check that has ended came out."""
    if item.value not in matched:
        return "unread"
    return "matched" if matched[item.value] else "mismatched"
