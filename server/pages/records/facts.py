"""Who, what and which bag: the facts at the head of the record. What is missing is named."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from server.domain.identity_reading import Item
from server.domain.picture import Picture
from server.domain.requirements import words_of
from server.domain.wording import COMPONENT, day_text
from server.domain.words import Confirmation
from server.pages.compatibility_view import compatibility_view
from server.pages.episodes.facts import PRIORITY
from server.pages.episodes.reaction_summary import UNKNOWN, group_text
from server.pages.episodes.sentences import Speech
from server.pages.identities.words import value_text


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact. `missing`: nobody recorded it."""

    term: str
    value: str

    @property
    def missing(self) -> bool:
        """Whether the value says that there is none."""
        return self.value == UNKNOWN


@dataclass(frozen=True, slots=True)
class Block:
    """A block of facts under its title."""

    title: str
    facts: tuple[Fact, ...]


NO_NAME: Final = "name not recorded"


def name_text(picture: Picture) -> str:
    """The name of the patient; history that was read in brings none."""
    patient = picture.case.patient
    return patient.full_name if patient.given_name else NO_NAME


def unit_number_text(picture: Picture) -> str:
    """The unit number as people write it, with its check character where it has one."""
    number = picture.episode.unit_number
    return UNKNOWN if number is None else value_text(Item.UNIT_NUMBER, number)


def component_text(picture: Picture) -> str:
    """The component, and which of how many units of the order it is."""
    request = picture.case.request
    place = f", unit {request.n} of {request.units}" if request.units > 1 else ""
    return f"{COMPONENT[request.component]}{place}"


def patient_block(picture: Picture, ward_name: str, speech: Speech) -> Block:
    """Who it was given to."""
    return _block("Patient", _patient(picture, ward_name, speech))


def order_block(picture: Picture, speech: Speech) -> Block:
    """What was ordered."""
    return _block("Order", _order(picture, speech))


def unit_block(picture: Picture, speech: Speech) -> Block:
    """Which bag it was, as its issue says."""
    return _block("Unit", _unit(picture, speech))


def _block(title: str, pairs: Iterator[tuple[str, str]]) -> Block:
    return Block(title, tuple(Fact(term, value) for term, value in pairs))


def _patient(picture: Picture, ward_name: str, speech: Speech) -> Iterator[tuple[str, str]]:
    patient, start = picture.case.patient, picture.episode.started_at
    on = (start or speech.now).astimezone(speech.zone).date()
    born = patient.birth_date
    name = name_text(picture)
    yield "Name", UNKNOWN if name == NO_NAME else name
    yield "Born", UNKNOWN if born is None else f"{day_text(born)}, {patient.age_years(on)} y"
    yield "Record number", patient.record_number
    yield "Blood group", group_text(patient.blood_group)
    yield "Where", f"{ward_name}, bed {picture.case.request.bed}"


def _order(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    yield "Component", component_text(picture)
    yield "Urgency", PRIORITY[picture.case.request.priority]
    yield "Requirements", _requirements(picture)
    yield "Rate", _ordered_rate(picture)
    yield "Consent", _confirmed(Confirmation.ORDER_CONSENT, picture, speech)


def _requirements(picture: Picture) -> str:
    """The special requirements of the order, each with what its label showed once it is issued."""
    asked = picture.case.request.requirements
    if not asked:
        return "none in the order"
    if picture.episode.issued_at is None:
        return ", ".join(words_of(text) for text in asked)
    seen = compatibility_view(picture).requirements
    return "; ".join(f"{one.words}, {one.said}" for one in seen)


def _ordered_rate(picture: Picture) -> str:
    request = picture.case.request
    ceiling, minutes = request.max_rate_ml_h, request.duration_minutes
    said = (
        "" if ceiling is None else f"at most {ceiling:g} mL/h",
        "" if minutes is None else f"over {minutes} min",
    )
    return ", ".join(part for part in said if part) or "none in the order"


def _confirmed(step: Confirmation, picture: Picture, speech: Speech) -> str:
    event = picture.episode.confirmed.get(step)
    if event is None:
        return UNKNOWN
    who = speech.name(event.staff_id or event.recorded_by)
    return f"confirmed {speech.time(event.happened_at)} {who}"


def _unit(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    episode = picture.episode
    product = (episode.product_code, f"division {episode.division}" if episode.division else None)
    expires, volume = episode.expires_at, episode.volume_ml
    yield "Unit number", unit_number_text(picture)
    yield "Product code", ", ".join(part for part in product if part) or UNKNOWN
    yield "Group of the unit", group_text(episode.blood_group)
    yield "Expires", UNKNOWN if expires is None else speech.time(expires)
    yield "Volume", UNKNOWN if volume is None else f"{volume:g} mL"
