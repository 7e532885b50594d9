"""One unit, as answered."""

from server.api.answers.clocks import (
    AdviceAnswer,
    BreachAnswer,
    ClockAnswer,
    advice_answer,
    breach_answer,
    clock_answer,
)
from server.api.answers.compatibility import (
    CompatibilityAnswer,
    OverrideAnswer,
    compatibility_answer,
    override_answer,
)
from server.api.answers.event import EventAnswer, event_answer
from server.api.answers.infusion import InfusionAnswer, infusion_answer
from server.api.answers.numbers import rounded
from server.api.answers.observation import ObservationAnswer, observation_answer
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.episode import Episode
from server.domain.prompt_wording import Voice
from server.domain.urgency import Urgency
from server.domain.words import BloodGroup, Component, Fate, Level, Phase, Priority
from server.services.read_episode import EpisodeRead


class InstantsAnswer(Given):
    """When it happened; null: not yet, or not recorded."""

    removed_at: Moment | None
    issued_at: Moment | None
    received_at: Moment | None
    spiked_at: Moment | None
    started_at: Moment | None
    ended_at: Moment | None
    fate_at: Moment | None


class UrgencyAnswer(Given):
    """Where the unit stands on the board, and why."""

    level: Level
    since_at: Moment | None
    reason: str


class PolicyVersionAnswer(Given):
    """The policy that the unit is judged by."""

    name: str
    version: str


class EpisodeAnswer(Given):
    """One unit as of the instant asked for, with everything known of it.

    `names` are those of the staff it mentions, by id.
    """

    at: Moment
    id: str
    ward_id: str
    bed: str
    patient_id: str
    component: Component
    phase: Phase
    revision: int
    nurse_id: str | None
    order_id: str | None
    n: int
    units: int
    priority: Priority
    volume_ml: float | None
    unit_number: str | None
    product_code: str | None
    division: str | None
    blood_group: BloodGroup | None
    expires_at: Moment | None
    fate: Fate | None
    history: bool
    policy: PolicyVersionAnswer
    instants: InstantsAnswer
    clocks: list[ClockAnswer]
    infusion: InfusionAnswer
    observations: list[ObservationAnswer]
    urgency: UrgencyAnswer
    advices: list[AdviceAnswer]
    breaches: list[BreachAnswer]
    missing_before_start: list[str]
    compatibility: CompatibilityAnswer
    override: OverrideAnswer | None
    events: list[EventAnswer]
    names: dict[str, str]


class EventRecorded(Given):
    """The event is in the log; `revision` is the episode's from now on."""

    event_id: str
    revision: int
    episode: EpisodeAnswer


def episode_answer(read: EpisodeRead) -> EpisodeAnswer:
    """One unit."""
    looked, policy = read.picture, read.picture.case.policy
    episode, request = looked.episode, looked.case.request
    return EpisodeAnswer(
        at=read.at,
        id=request.id,
        ward_id=request.ward_id,
        bed=request.bed,
        patient_id=request.patient_id,
        component=request.component,
        phase=episode.phase,
        revision=episode.revision,
        nurse_id=episode.nurse_id,
        order_id=request.order_id,
        n=request.n,
        units=request.units,
        priority=request.priority,
        volume_ml=rounded(episode.volume_ml),
        unit_number=episode.unit_number,
        product_code=episode.product_code,
        division=episode.division,
        blood_group=episode.blood_group,
        expires_at=episode.expires_at,
        fate=episode.fate,
        history=request.history,
        policy=PolicyVersionAnswer(name=policy.name, version=policy.version),
        instants=_instants(episode),
        clocks=[clock_answer(clock, state, policy, request) for clock, state in looked.clocks],
        infusion=infusion_answer(looked.infusion),
        observations=_observations(read),
        urgency=_urgency(looked.urgency),
        advices=[advice_answer(advice, policy, request) for advice in looked.advices],
        breaches=[breach_answer(breach) for breach in looked.breaches],
        missing_before_start=list(read.missing),
        compatibility=compatibility_answer(looked),
        override=override_answer(looked),
        events=[
            event_answer(event, read.voided_by.get(event.id), policy.charting_late)
            for event in read.events
        ],
        names=dict(read.names),
    )


def _instants(episode: Episode) -> InstantsAnswer:
    return InstantsAnswer(
        removed_at=episode.removed_at,
        issued_at=episode.issued_at,
        received_at=episode.received_at,
        spiked_at=episode.spiked_at,
        started_at=episode.started_at,
        ended_at=episode.ended_at,
        fate_at=episode.fate_at,
    )


def _observations(read: EpisodeRead) -> list[ObservationAnswer]:
    case = read.picture.case
    voice, pairs = Voice(case.zone), zip(read.observations, read.assessments, strict=True)
    return [observation_answer(event, says, case.policy, voice) for event, says in pairs]


def _urgency(urgency: Urgency) -> UrgencyAnswer:
    return UrgencyAnswer(level=urgency.level, since_at=urgency.since_at, reason=urgency.reason)
