"""What the laboratory will ask about a suspected reaction, ready to be read out on the phone."""

from collections.abc import Iterator

from server.domain.compatibility import group_words
from server.domain.events import Event
from server.domain.payloads import Observed
from server.domain.payloads.reaction import RECHECK_IDENTITY
from server.domain.picture import Picture
from server.domain.reaction import Suspicion
from server.domain.wording import COMPONENT, day_text, span, whole_minutes
from server.domain.words import BloodGroup
from server.pages.episodes.reaction_view import symptoms_text
from server.pages.episodes.sentences import Speech, signs_text, words_for
from server.pages.event_forms.words import RECHECKS

UNKNOWN = "not recorded"


def laboratory_facts(
    picture: Picture, suspicion: Suspicion, ward_name: str, speech: Speech
) -> tuple[tuple[str, str], ...]:
    """Answer (term, value) in the order in which it is told; what is unknown is said to be."""
    return (
        *_unit(picture, speech),
        *_patient(picture, ward_name),
        *_event(picture, suspicion, speech),
        *_signs(picture, suspicion, speech),
        ("Identity again", _recheck(suspicion, speech)),
    )


def _unit(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    episode, request = picture.episode, picture.case.request
    code = f", {episode.product_code}" if episode.product_code else ""
    yield "Unit number", episode.unit_number or UNKNOWN
    yield "Product", f"{COMPONENT[request.component]}{code}"
    yield "Group of the unit", group_text(episode.blood_group)
    yield "Expires", UNKNOWN if episode.expires_at is None else speech.time(episode.expires_at)


def _patient(picture: Picture, ward_name: str) -> Iterator[tuple[str, str]]:
    patient, born = picture.case.patient, picture.case.patient.birth_date
    birth = "birth date not recorded" if born is None else f"born {day_text(born)}"
    yield "Patient", f"{patient.full_name}, {birth}"
    yield "Record number", patient.record_number
    yield "Group of the patient", group_text(patient.blood_group)
    yield "Where", f"{ward_name}, bed {picture.case.request.bed}"


def _event(picture: Picture, suspicion: Suspicion, speech: Speech) -> Iterator[tuple[str, str]]:
    episode, start = picture.episode, picture.episode.started_at
    after = "" if start is None else f", {span(whole_minutes(start, suspicion.since))} after start"
    yield "Onset", f"{speech.time(suspicion.since)}{after}"
    yield "Volume given", _volume(picture)
    halted = episode.ended_at or (episode.flow[-1].at if picture.infusion.rate_ml_h == 0 else None)
    yield "Halted", "not recorded" if halted is None else speech.time(halted)
    yield "Signs", symptoms_text(suspicion) or "none recorded"


def _volume(picture: Picture) -> str:
    of = "" if picture.episode.volume_ml is None else f" of {picture.episode.volume_ml:.0f}"
    return f"{picture.infusion.given_ml:.0f}{of} mL, by rates and readings"


def _signs(picture: Picture, suspicion: Suspicion, speech: Speech) -> Iterator[tuple[str, str]]:
    sets = picture.episode.observations
    before = [event for event in sets if event.happened_at < suspicion.since]
    since = [event for event in sets if event.happened_at >= suspicion.since]
    yield "Signs before", _set(before, speech)
    yield "Signs now", _set(since, speech)


def _set(events: list[Event], speech: Speech) -> str:
    if not events or not isinstance(events[-1].payload, Observed):
        return UNKNOWN
    return f"{signs_text(events[-1].payload, speech)} at {speech.time(events[-1].happened_at)}"


def _recheck(suspicion: Suspicion, speech: Speech) -> str:
    tick = suspicion.identity_error or suspicion.tick_of(RECHECK_IDENTITY)
    if tick is None:
        return "not done"
    found = "done" if tick.result is None else words_for(RECHECKS, tick.result)
    return f"{found}, {speech.time(tick.at)} {speech.name(tick.by)}"


def group_text(group: BloodGroup | None) -> str:
    """A group as it is shown; one that nobody recorded is said to be unknown to the record."""
    return UNKNOWN if group is None else group_words(group)
