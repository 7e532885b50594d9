"""One set of vital signs as it is shown: the score with its parts, a child's signs, prompts."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from server.domain import centiles, news2
from server.domain.assessment import Assessment
from server.domain.centiles import ChildSigns, Floor, Placed
from server.domain.events import Event
from server.domain.news2 import News2, NotCalculated
from server.domain.observations import missing_signs
from server.domain.payloads import Observed
from server.domain.policy import Policy, source_of
from server.domain.prompt_wording import PAUSE, Voice, prompt_text
from server.pages.episodes.sentences import Speech, signs_text, words_for
from server.pages.event_forms.read import FAHRENHEIT
from server.pages.event_forms.words import CONSCIOUSNESS, SIGN_OF_SET, SYMPTOMS

SIGN: Final = {
    "respiration_rate": "Respirations",
    "spo2": "SpO₂",
    "air_or_oxygen": "Air or oxygen",
    "systolic_bp": "Systolic",
    "pulse": "Pulse",
    "consciousness": "Consciousness",
    "temperature": "Temperature",
}


@dataclass(frozen=True, slots=True)
class ScoreView:
    """The score in words, or why there is none. `parts` are (sign, sub-score)."""

    total: str
    risk: str
    parts: tuple[tuple[str, int], ...]
    response: str
    why_not: str
    source: str


@dataclass(frozen=True, slots=True)
class PromptView:
    """One prompt and where its criterion comes from."""

    detail: str
    source: str

    @property
    def seen(self) -> str:
        """What was seen alone: for a list that says once what all of it asks."""
        return self.detail.removeprefix(f"{PAUSE}: ")


@dataclass(frozen=True, slots=True)
class SetView:
    """One set. `missing` names required signs that it lacks; `child` are (sign, words)."""

    time: str
    signs: str
    score: ScoreView
    child: tuple[tuple[str, str], ...]
    child_source: str
    prompts: tuple[PromptView, ...]
    missing: str


def set_view(event: Event, assessment: Assessment, policy: Policy, speech: Speech) -> SetView:
    """Answer one set with what it says."""
    observed = event.payload
    if not isinstance(observed, Observed):
        raise TypeError(f"{event.kind} is no observation")
    missing = missing_signs(observed, policy.observations_required)
    return SetView(
        time=speech.time(event.happened_at),
        signs=signs_text(observed, speech),
        score=_score(assessment.news2),
        child=() if assessment.child is None else tuple(_child(assessment.child).items()),
        child_source=f"{centiles.SOURCE}; {centiles.FLOOR_SOURCE}",
        prompts=prompt_views(assessment, policy, speech),
        missing=", ".join(SIGN_OF_SET[sign] for sign in missing),
    )


def prompt_views(assessment: Assessment, policy: Policy, speech: Speech) -> tuple[PromptView, ...]:
    """Answer the prompts of a set, in the ward's unit and words."""
    voice = Voice(speech.zone, speech.temperature_unit == FAHRENHEIT, _words)
    return tuple(
        PromptView(prompt_text(prompt, voice), source_of(policy, prompt.rule))
        for prompt in assessment.prompts
    )


def _words(slug: str) -> str:
    return words_for((*SYMPTOMS, *CONSCIOUSNESS), slug)


def _score(scored: News2 | NotCalculated) -> ScoreView:
    parts = tuple((SIGN[sign], score) for sign, score in scored.subscores.items())
    if isinstance(scored, NotCalculated):
        return ScoreView("not calculated", "", parts, "", scored.reason, news2.SOURCE)
    said = scored.published
    single = ", one sign scores 3" if scored.single_three else ""
    scale = "" if scored.spo2_scale == 1 else ", SpO₂ by scale 2"
    return ScoreView(
        total=str(scored.score),
        risk=f"{scored.risk.value} risk{single}{scale}",
        parts=parts,
        response=f"Published response: {said.response} Observations {said.frequency}.",
        why_not="",
        source=news2.SOURCE,
    )


def _child(signs: ChildSigns) -> Mapping[str, str]:
    said = {
        "Pulse": None if signs.pulse is None else _placed(signs.pulse),
        "Respirations": None if signs.respirations is None else _placed(signs.respirations),
        "Systolic": None if signs.systolic is None else _floor(signs.systolic),
    }
    return {sign: words for sign, words in said.items() if words is not None}


def _placed(placed: Placed) -> str:
    p1, _, p50, _, p99 = placed.centiles
    return f"{placed.value:g}, {placed.band.value} at this age (1st {p1}, median {p50}, 99th {p99})"


def _floor(floor: Floor) -> str:
    side = "below" if floor.below else "not below"
    return f"{floor.value:g}, {side} the lowest acceptable of {floor.floor_mmhg} mmHg at this age"
