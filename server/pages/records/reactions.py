"""Suspected reactions on paper: since when, with what, which steps, and how each was closed."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.infusion import volume_given
from server.domain.picture import Picture
from server.domain.reaction import STEP, Suspicion
from server.domain.wording import span, whole_minutes
from server.pages.episodes.history import HistoryRow
from server.pages.episodes.reaction_view import step_done, symptoms_text
from server.pages.episodes.sentences import Speech
from server.pages.records.told import Told


@dataclass(frozen=True, slots=True)
class ReactionRecord:
    """One suspicion. `rows` are its events; `undone` steps of the policy nobody recorded."""

    since: str
    symptoms: str
    outcome: str
    rows: tuple[HistoryRow, ...]
    undone: tuple[str, ...]


def reaction_records(
    told: tuple[Told, ...], picture: Picture, speech: Speech
) -> tuple[ReactionRecord, ...]:
    """Answer every suspicion, the first one first."""
    reactions = picture.episode.reactions
    begins = [one.since for one in reactions]
    return tuple(
        ReactionRecord(
            since=_since(one, picture, speech),
            symptoms=symptoms_text(one),
            outcome=_outcome(one, speech),
            rows=tuple(
                item.row
                for item in told
                if sum(at <= item.event.happened_at for at in begins) == place
            ),
            undone=tuple(_undone(one, picture, speech)),
        )
        for place, one in enumerate(reactions, 1)
    )


def _since(one: Suspicion, picture: Picture, speech: Speech) -> str:
    """When it was first suspected, and how much of the unit had run in."""
    episode, start = picture.episode, picture.episode.started_at
    after = "" if start is None else f", {span(whole_minutes(start, one.since))} after the start"
    given = volume_given(episode.flow, episode.volume_ml, one.since).given_ml
    return f"{speech.time(one.since)}{after}, with {given:.0f} mL given"


def _outcome(one: Suspicion, speech: Speech) -> str:
    if one.closed_at is None:
        return "not closed"
    named = f" ({one.classification})" if one.classification else ""
    return f"closed {speech.time(one.closed_at)} {speech.name(one.closed_by)}: {one.outcome}{named}"


def _undone(one: Suspicion, picture: Picture, speech: Speech) -> Iterator[str]:
    for slug in picture.case.policy.reaction_steps:
        if not step_done(slug, one, picture, speech):
            yield STEP[slug].words
