"""Sets of vital signs, as answered: the signs, and what they say."""

from server.api.answers.numbers import rounded
from server.api.fields import Given
from server.api.instants import Moment
from server.domain import centiles, news2
from server.domain.assessment import Assessment
from server.domain.centiles import Band, ChildSigns, Floor, Placed
from server.domain.events import Event
from server.domain.news2 import News2, NotCalculated, Risk
from server.domain.observations import missing_signs
from server.domain.payloads import Observed
from server.domain.policy import Policy, source_of
from server.domain.prompt_wording import Voice, prompt_text
from server.domain.words import Consciousness


class News2Answer(Given):
    """The early warning score of a full set, with the published level and response.

    `subscores` are by sign. `single_three` says that one sign alone scores three. Local policy
    decides what is done.
    """

    score: int
    risk: Risk
    subscores: dict[str, int]
    single_three: bool
    spo2_scale: int
    frequency: str
    response: str
    source: str


class NotCalculatedAnswer(Given):
    """Why there is no score; never a score of 0."""

    not_calculated: str


class PlacedAnswer(Given):
    """A child's value per minute, and where it lies among healthy children of the age."""

    value: float
    band: Band
    p1: int
    p10: int
    p50: int
    p90: int
    p99: int
    source: str


class FloorAnswer(Given):
    """A child's systolic pressure, and the lowest acceptable one of the age."""

    value: float
    floor_mmhg: int
    below: bool
    source: str


class ChildAnswer(Given):
    """A child's signs against published references; null: not taken."""

    pulse: PlacedAnswer | None
    respirations: PlacedAnswer | None
    systolic: FloorAnswer | None


class PromptAnswer(Given):
    """A change from the baseline that asks to pause and assess; `source` is its criterion's."""

    code: str
    detail: str
    source: str


class ObservationAnswer(Given):
    """One set of vital signs; `missing` names the required signs that it lacks.

    `news2` is the score or why there is none, `child` is null for adults, `prompts` compare the
    set with the baseline of this unit.
    """

    event_id: str
    happened_at: Moment
    recorded_at: Moment
    recorded_by: str
    staff_id: str | None
    temperature_c: float | None
    pulse_per_min: float | None
    respirations_per_min: float | None
    systolic_mmhg: float | None
    diastolic_mmhg: float | None
    spo2_percent: float | None
    on_oxygen: bool | None
    consciousness: Consciousness | None
    symptoms: list[str]
    complete: bool
    missing: list[str]
    news2: News2Answer | NotCalculatedAnswer
    child: ChildAnswer | None
    prompts: list[PromptAnswer]


def observation_answer(
    event: Event, assessment: Assessment, policy: Policy, voice: Voice
) -> ObservationAnswer:
    """One set of vital signs and what it says, judged by the policy of the unit."""
    observed = event.payload
    if not isinstance(observed, Observed):
        raise TypeError(f"{event.kind} is no observation")
    missing = missing_signs(observed, policy.observations_required)
    return ObservationAnswer(
        event_id=event.id,
        happened_at=event.happened_at,
        recorded_at=event.recorded_at,
        recorded_by=event.recorded_by,
        staff_id=event.staff_id,
        temperature_c=rounded(observed.temperature_c),
        pulse_per_min=rounded(observed.pulse_per_min),
        respirations_per_min=rounded(observed.respirations_per_min),
        systolic_mmhg=rounded(observed.systolic_mmhg),
        diastolic_mmhg=rounded(observed.diastolic_mmhg),
        spo2_percent=rounded(observed.spo2_percent),
        on_oxygen=observed.on_oxygen,
        consciousness=observed.consciousness,
        symptoms=list(observed.symptoms),
        complete=not missing,
        missing=list(missing),
        news2=_news2(assessment.news2),
        child=_child(assessment.child),
        prompts=[
            PromptAnswer(
                code=prompt.code,
                detail=prompt_text(prompt, voice),
                source=source_of(policy, prompt.rule),
            )
            for prompt in assessment.prompts
        ],
    )


def _news2(scored: News2 | NotCalculated) -> News2Answer | NotCalculatedAnswer:
    if isinstance(scored, NotCalculated):
        return NotCalculatedAnswer(not_calculated=scored.reason)
    return News2Answer(
        score=scored.score,
        risk=scored.risk,
        subscores=dict(scored.subscores),
        single_three=scored.single_three,
        spo2_scale=scored.spo2_scale,
        frequency=scored.published.frequency,
        response=scored.published.response,
        source=news2.SOURCE,
    )


def _child(signs: ChildSigns | None) -> ChildAnswer | None:
    if signs is None:
        return None
    return ChildAnswer(
        pulse=_placed(signs.pulse),
        respirations=_placed(signs.respirations),
        systolic=_floor(signs.systolic),
    )


def _placed(placed: Placed | None) -> PlacedAnswer | None:
    if placed is None:
        return None
    p1, p10, p50, p90, p99 = placed.centiles
    return PlacedAnswer(
        value=rounded(placed.value),
        band=placed.band,
        p1=p1,
        p10=p10,
        p50=p50,
        p90=p90,
        p99=p99,
        source=centiles.SOURCE,
    )


def _floor(floor: Floor | None) -> FloorAnswer | None:
    if floor is None:
        return None
    return FloorAnswer(
        value=rounded(floor.value),
        floor_mmhg=floor.floor_mmhg,
        below=floor.below,
        source=centiles.FLOOR_SOURCE,
    )
