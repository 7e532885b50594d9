"""Rates and volumes: every change of the flow, the rate after it and what had run in by then."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.episode import Episode
from server.domain.events import Event, sorted_live
from server.domain.infusion import Given, volume_given
from server.domain.payloads import IdentityChecked, Issued, Payload
from server.domain.picture import Picture
from server.domain.wording import span, whole_minutes
from server.domain.words import Kind
from server.pages.episodes.reaction_summary import UNKNOWN
from server.pages.episodes.sentences import Speech, words_for
from server.pages.event_forms.words import FATES
from server.pages.records.facts import Block, Fact
from server.pages.records.told import Told

NOT_STARTED: Final = "never started"


@dataclass(frozen=True, slots=True)
class FlowRow:
    """One change: the rate after it in mL/h, and what had run in by then in mL."""

    time: str
    what: str
    text: str
    rate: str
    given: str
    who: str
    late: str


def flow_rows(told: tuple[Told, ...], picture: Picture) -> tuple[FlowRow, ...]:
    """Answer the changes of the flow in bedside order."""
    return tuple(_row(one, picture.episode) for one in told)


def given_block(picture: Picture, speech: Speech) -> Block:
    """Who checked, how long it took, how much ran in, and what became of the bag."""
    return Block("Given", tuple(Fact(*pair) for pair in _given(picture, speech)))


def _row(told: Told, episode: Episode) -> FlowRow:
    given = volume_given(episode.flow, episode.volume_ml, told.event.happened_at)
    return FlowRow(
        time=told.row.time,
        what=told.row.word,
        text=", ".join(_said(told.event.payload, given)),
        rate=f"{given.rate_ml_h or 0:g}",
        given=f"{given.given_ml:.0f}",
        who=told.row.who,
        late=told.row.late,
    )


def _said(payload: Payload, given: Given) -> Iterator[str]:
    """Why, on whose decision, and how far a reading lies from what the rates say."""
    for name in ("reason", "decided_by"):
        said = getattr(payload, name, None)
        if said:
            yield said
    apart = round(given.read_difference_ml or 0)
    if getattr(payload, "given_ml", None) is not None and apart:
        yield f"{abs(apart)} mL {'more' if apart > 0 else 'less'} than by the rates"


def _given(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    live = sorted_live(picture.case.events)
    yield from _checkers(picture, speech)
    yield "Out of storage to start", _waited(picture.episode, live)
    yield "Start to end", _lasted(picture.episode)
    yield "Volume given", _volume(picture, live)
    yield "Fate of the bag", _fate(picture.episode, live, speech)


def _checkers(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    identity, asked = picture.episode.identity, picture.case.policy.identity_checkers
    first = identity.first_by if isinstance(identity, IdentityChecked) else None
    second = identity.second_by if isinstance(identity, IdentityChecked) else None
    yield "First checker", speech.name(first) or UNKNOWN
    alone = asked == 1 and second is None
    yield "Second checker", "not asked for" if alone else speech.name(second) or UNKNOWN


def _waited(episode: Episode, live: list[Event]) -> str:
    """How long it was out of storage; an issue that names no removal counts from itself."""
    start, since = episode.started_at, episode.removed_at
    if start is None:
        return NOT_STARTED
    if since is None:
        return UNKNOWN
    issues = [event.payload for event in live if isinstance(event.payload, Issued)]
    named = any(issue.removed_at is not None for issue in issues)
    return f"{_between(since, start)}{'' if named else ', counted from its issue'}"


def _lasted(episode: Episode) -> str:
    if episode.started_at is None:
        return NOT_STARTED
    if episode.ended_at is None:
        return UNKNOWN
    return _between(episode.started_at, episode.ended_at)


def _between(start: datetime, end: datetime) -> str:
    return span(max(0, whole_minutes(start, end)))


def _volume(picture: Picture, live: list[Event]) -> str:
    """What ran in, and whether somebody read it or it follows from the rates."""
    episode = picture.episode
    if episode.started_at is None:
        return NOT_STARTED
    of = "" if episode.volume_ml is None else f" of {episode.volume_ml:g}"
    read = any(getattr(event.payload, "given_ml", None) is not None for event in live)
    how = "by rates and readings" if read else "by the rates alone"
    return f"{picture.infusion.given_ml:.0f}{of} mL, {how}"


def _fate(episode: Episode, live: list[Event], speech: Speech) -> str:
    """What became of the bag, when and by whom; a bag that went back unstarted has its fate."""
    if episode.fate is None:
        return UNKNOWN
    said = [one for one in live if one.kind in (Kind.FATE, Kind.RETURNED, Kind.DISCARDED)]
    last = next((one for one in reversed(said) if one.kind is Kind.FATE), said[-1])
    who = speech.name(last.staff_id or last.recorded_by)
    return f"{words_for(FATES, episode.fate)}, {speech.time(last.happened_at)} {who}"
