"""The retrospective classification as the manager reads it, by reaction and definition."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from server.domain.definition import Verdict
from server.domain.reaction_definitions import Classified
from server.pages.episodes.sentences import Speech
from server.services.actor import Actor
from server.services.classify_reaction import classify_reaction
from server.services.permissions import Act, may
from server.services.read_episode import EpisodeRead


@dataclass(frozen=True, slots=True)
class ClassifiedRow:
    """One definition: what it says of the record, of which instant, and what it also asks for."""

    publisher: str
    window: str
    verdict: str
    met: bool
    why: str
    lacks: str
    source: str


@dataclass(frozen=True, slots=True)
class ClassifiedGroup:
    """The definitions of one reaction."""

    reaction: str
    rows: tuple[ClassifiedRow, ...]


@dataclass(frozen=True, slots=True)
class ClassifiedView:
    """The whole panel; `met` names the reactions of which a definition is met."""

    met: str
    groups: tuple[ClassifiedGroup, ...]


def classified_view(actor: Actor, read: EpisodeRead, speech: Speech) -> ClassifiedView | None:
    """Answer the panel, None for whom it is not, and until the unit has ended."""
    ended = read.picture.episode.ended_at is not None
    if not (ended and may(actor, Act.CLASSIFY, read.ward.id)):
        return None
    groups = tuple(_groups(classify_reaction(actor, read), speech))
    met = [group.reaction for group in groups if any(row.met for row in group.rows)]
    return ClassifiedView(", ".join(met) or "none", groups)


def _groups(found: tuple[Classified, ...], speech: Speech) -> Iterator[ClassifiedGroup]:
    for reaction, listed in groupby(found, key=lambda one: one.definition.reaction):
        yield ClassifiedGroup(reaction.value, tuple(_row(one, speech) for one in listed))


def _row(one: Classified, speech: Speech) -> ClassifiedRow:
    definition, finding = one.definition, one.finding
    grade = f": {finding.grade}" if finding.grade else ""
    return ClassifiedRow(
        publisher=definition.publisher,
        window=f"to {definition.window_hours:g} h after the end",
        verdict=f"{finding.verdict.value}{grade}",
        met=finding.verdict is Verdict.MET,
        why=_why(one, speech),
        lacks=definition.lacks,
        source=definition.source,
    )


def _why(one: Classified, speech: Speech) -> str:
    """What it rests on; of instants that all did not meet it, the first as an example."""
    said = one.finding.why if one.at is None else f"{one.finding.why} ({speech.time(one.at)})"
    if one.finding.verdict is Verdict.NOT_MET and one.instants > 1:
        return f"at none of {one.instants} instants; the first: {said}"
    return said
