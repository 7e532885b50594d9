"""Values from before, shown beside the fields: the last signs, the rate, what has run in."""

from collections.abc import Iterator
from typing import Any, Final

from server.domain.picture import Picture
from server.pages.episodes.sentences import Speech, temperature_text, words_for
from server.pages.event_forms.words import CONSCIOUSNESS, ITEMS

SIGNS: Final = (
    "temperature_c",
    "pulse_per_min",
    "respirations_per_min",
    "systolic_mmhg",
    "diastolic_mmhg",
    "spo2_percent",
    "on_oxygen",
    "consciousness",
)
_TWO: Final = 2


def values_before(picture: Picture, speech: Speech) -> dict[str, str]:
    """Answer the texts that stand beside fields, by the `before` of the field."""
    return {**dict(_signs(picture, speech)), **_flow(picture, speech), **_policy(picture)}


def _signs(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    for sign in SIGNS:
        for event in reversed(picture.episode.observations):
            value = getattr(event.payload, sign)
            if value is not None:
                yield sign, f"{_sign_text(sign, value, speech)} at {speech.time(event.happened_at)}"
                break


def _sign_text(sign: str, value: Any, speech: Speech) -> str:
    if sign == "temperature_c":
        return temperature_text(value, speech.temperature_unit).split()[0]
    if sign == "consciousness":
        return words_for(CONSCIOUSNESS, value)
    if sign == "on_oxygen":
        return "oxygen" if value else "air"
    return f"{value:g}"


def _flow(picture: Picture, speech: Speech) -> dict[str, str]:
    infusion, episode = picture.infusion, picture.episode
    texts: dict[str, str] = {}
    if episode.started_at is not None and infusion.rate_ml_h is not None:
        since = "" if infusion.since_at is None else f" since {speech.time(infusion.since_at)}"
        ceiling = f"ceiling {infusion.permitted_rate_ml_h:g}"
        texts["rate_ml_h"] = f"{infusion.rate_ml_h:g}{since}, {ceiling}"
        texts["given_ml"] = f"{infusion.given_ml:.0f} by rates and readings"
    rates = [flow.rate_ml_h for flow in episode.flow if flow.rate_ml_h is not None]
    if len(rates) >= _TWO:
        texts["rate_before_pause"] = f"{rates[-2]:g} before the pause"
    if episode.volume_ml is not None:
        texts["volume_ml"] = f"{episode.volume_ml:g} ordered"
    return texts


def _policy(picture: Picture) -> dict[str, str]:
    policy = picture.case.policy
    minutes = policy.rate_first.total_seconds() / 60
    texts = {
        "first_rate": f"at most {policy.rate_first_max_ml_h:g} for {minutes:.0f} min by policy"
    }
    if policy.identity_checkers > 1:
        texts["checkers"] = "The policy asks for two people."
    return texts


def on_record(picture: Picture, speech: Speech) -> dict[str, str]:
    """Answer what the record says of each item of the identity check."""
    patient, episode = picture.case.patient, picture.episode
    born = patient.birth_date
    group = " and ".join(
        f"{whose} {value.replace('-', chr(0x2212))}"
        for whose, value in (("patient", patient.blood_group), ("unit", episode.blood_group))
        if value is not None
    )
    said = {
        "name": f"{patient.family_name}, {patient.given_name}",
        "date_of_birth": "" if born is None else f"{born.day} {born:%B %Y}",
        "record_number": patient.record_number,
        "blood_group": group,
        "expiry": "" if episode.expires_at is None else speech.time(episode.expires_at),
        "unit_number": episode.unit_number or "",
    }
    return {item: said[item] or "not on record" for item, _words in ITEMS}
