"""Values from before, shown beside the fields: the last signs, the rate, what has run in."""

from collections.abc import Iterator
from typing import Any, Final

from server.domain.observations import SIGNS
from server.domain.picture import Picture
from server.pages.episodes.sentences import Speech, temperature_text, words_for
from server.pages.event_forms.words import CONSCIOUSNESS

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
    return {"first_rate": f"at most {policy.rate_first_max_ml_h:g} for {minutes:.0f} min by policy"}
