"""Cases: everything the domain needs to know of a unit, for many units in few queries."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.events import Event, sorted_live
from server.domain.picture import Case, picture
from server.domain.plan.plan import Plan
from server.domain.policy import Policy
from server.domain.request import DamagedRequest, Patient, Request
from server.domain.site import Site
from server.domain.window import concerning
from server.domain.words import Kind
from server.services.errors import Damaged, NotFound, Unreadable
from server.services.policies import policies_of_versions
from server.store.episode_events import Window, events_of_episodes
from server.store.errors import Away
from server.store.patients import read_patients
from server.store.plans import plan_in_force, read_plans
from server.store.policies import InForce, policies_of_wards, version_at
from server.store.requests import read_requests
from server.store.sessions import ReadSession, WriteSession
from server.store.shared_facts import SharedFacts, shared_facts
from server.store.states import EpisodeState, read_states
from server.store.wards import Ward, list_wards

# Wider than any policy may look back or watch on: the domain cuts to the exact window.
_BEFORE: Final = timedelta(hours=48)
_AFTER: Final = timedelta(hours=169)


@dataclass(frozen=True, slots=True)
class Setting:
    """What surrounds the facts of units: patients, wards, policies, shared facts, site files.

    `plans` are those in force, by ward id; a ward without one is left out. `site` is what is
    loaded now: its files leave no history.
    """

    patients: Mapping[str, Patient]
    wards: Mapping[str, Ward]
    periods: Mapping[str, tuple[InForce, ...]]
    policies: Mapping[str, Policy]
    shared: Mapping[str, SharedFacts]
    site: Site
    plans: Mapping[str, Plan]


@dataclass(frozen=True, slots=True)
class CaseRead:
    """A case, and the ward of the unit as it was when the case was read."""

    case: Case
    ward: Ward


def load_case(
    session: ReadSession, episode_id: str, *, now: datetime, reaching: datetime | None = None
) -> Case:
    """Answer the case of one unit. Raises `NotFound`, `Unreadable` if it cannot be followed.

    `reaching` is when a fact happened that is being recorded: it may open the window of the
    unit's observations further back, or take away the end that closes it.
    """
    case = read_case(session, episode_id, now=now, reaching=reaching)
    with reading(case.request):
        picture(case, now)
    return case


def read_case(
    session: ReadSession, episode_id: str, *, now: datetime, reaching: datetime | None = None
) -> Case:
    """Answer the same, followed or not: a fact that is taken back may be why nobody can."""
    return read_on_ward(session, episode_id, now=now, reaching=reaching).case


def read_on_ward(
    session: ReadSession, episode_id: str, *, now: datetime, reaching: datetime | None = None
) -> CaseRead:
    """Answer the same with the ward, by whose revision one can tell later whether it still holds.

    Whatever changes the case of a unit raises the revision of its ward in the same commit;
    `holds_now` asks for that.
    """
    requests = read_requests(session, [episode_id])
    if episode_id not in requests:
        raise NotFound("the episode")
    request = requests[episode_id]
    with reading(request):
        facts = read_facts(session, requests, reaching=reaching)
        setting = read_setting(session, [request])
        case = make_case(request, facts[episode_id], setting, now=now)
    return CaseRead(case, setting.wards[request.ward_id])


def read_before(
    session: ReadSession, episode_id: str, *, now: datetime, reaching: datetime
) -> CaseRead | None:
    """Read a case before the turn to write; None where it cannot be: in the turn that is said."""
    try:
        return read_on_ward(session, episode_id, now=now, reaching=reaching)
    except (NotFound, Unreadable):
        return None


def holds_now(session: WriteSession, read: CaseRead) -> bool:
    """Mark the ward as changed; answer whether what was read before the turn holds in it."""
    ward = read.ward
    return not session.has_touched(ward.id) and session.touch(ward.id) == ward.revision + 1


@contextmanager
def reading(unit: Request) -> Iterator[None]:
    """Say `Unreadable` of whatever fails while the facts of a unit are read or followed."""
    try:
        yield
    except Away:
        raise
    except Exception as fault:
        raise Unreadable(unit) from fault


def load_cases(
    session: ReadSession,
    episode_ids: Iterable[str],
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> dict[str, Case]:
    """Answer the cases of these units by episode id; `known_at` as they were known then.

    Facts are not cut to `at`, only what surrounds them; `Case.known` does the rest.
    """
    requests = read_requests(session, episode_ids)
    return cases_of(session, requests, now=now, at=at, known_at=known_at)


def cases_of(
    session: ReadSession,
    requests: Mapping[str, Request],
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
    reaching: datetime | None = None,
    states: Mapping[str, EpisodeState] | None = None,
) -> dict[str, Case]:
    """Answer the cases of requests, and with `states`, that were already read."""
    if not requests:
        return {}
    events = read_facts(session, requests, reaching=reaching, states=states)
    setting = read_setting(session, requests.values(), at=at, known_at=known_at)
    return {
        request.id: make_case(request, events[request.id], setting, now=now, known_at=known_at)
        for request in requests.values()
    }


def read_facts(
    session: ReadSession,
    requests: Mapping[str, Request],
    *,
    reaching: datetime | None = None,
    states: Mapping[str, EpisodeState] | None = None,
) -> dict[str, tuple[Event, ...]]:
    """Read everything that was ever recorded of these units, by episode id."""
    if states is None:
        states = read_states(session, requests)
    windows = {
        request.id: _window(request, states.get(request.id), reaching)
        for request in requests.values()
    }
    return events_of_episodes(session, requests.values(), windows)


def read_setting(
    session: ReadSession,
    requests: Iterable[Request],
    *,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> Setting:
    """Read what surrounds the facts of these units; a plan is in force from its acceptance on."""
    listed = list(requests)
    patient_ids = {request.patient_id for request in listed}
    wards = list_wards(session, {request.ward_id for request in listed})
    periods = policies_of_wards(session, [ward.id for ward in wards])
    versions = {period.version for ward in periods.values() for period in ward}
    return Setting(
        patients=read_patients(session, patient_ids, known_at=known_at),
        wards={ward.id: ward for ward in wards},
        periods=periods,
        policies=policies_of_versions(session, versions),
        shared=shared_facts(session, patient_ids, known_at=known_at),
        site=session.site,
        plans=_plans(session, wards, min(filter(None, (at, known_at)), default=None)),
    )


def _plans(session: ReadSession, wards: Iterable[Ward], at: datetime | None) -> dict[str, Plan]:
    """The plans in force, at an instant or now; now nothing is asked of a ward without one."""
    if at is None:
        planned = {ward.plan_id: ward.id for ward in wards if ward.plan_id is not None}
        found = read_plans(session, planned) if planned else {}
        return {planned[plan_id]: plan for plan_id, plan in found.items()}
    then = {ward.id: plan_in_force(session, ward.id, at) for ward in wards}
    return {ward_id: plan for ward_id, plan in then.items() if plan is not None}


def require_whole(request: Request) -> None:
    """Raise `Damaged` for a request that is only known in part."""
    if isinstance(request, DamagedRequest):
        raise Damaged(request.damaged)


def zone_of(ward: Ward) -> ZoneInfo:
    """The time zone of a ward."""
    return ZoneInfo(ward.timezone)


def make_case(
    request: Request,
    events: Iterable[Event],
    setting: Setting,
    *,
    now: datetime,
    known_at: datetime | None = None,
) -> Case:
    """Put a case together; it is judged by the policy in force when the unit was issued.

    Raises `Damaged`.
    """
    require_whole(request)
    known = [event for event in events if known_at is None or event.recorded_at <= known_at]
    judged_at = _judged_at(known) or now
    version = version_at(setting.periods[request.ward_id], judged_at)
    policy = setting.policies[version or ""]
    shared = setting.shared.get(request.patient_id, SharedFacts())
    plan = setting.plans.get(request.ward_id)
    return Case(
        request=request,
        patient=setting.patients[request.patient_id],
        policy=policy,
        events=concerning(request, policy, known),
        zone=zone_of(setting.wards[request.ward_id]),
        line=tuple(one.hung for one in shared.hung if one.episode_id != request.id),
        elsewhere=tuple(one for one in shared.suspected if one.episode_id != request.id),
        site=setting.site,
        planned=None if plan is None else plan.planned_of(request.id),
    )


def _judged_at(events: Iterable[Event]) -> datetime | None:
    begun = [item for item in sorted_live(events) if item.kind in (Kind.ISSUED, Kind.STARTED)]
    return begun[0].happened_at if begun else None


def _window(request: Request, state: EpisodeState | None, reaching: datetime | None) -> Window:
    if state is None:
        return Window()
    asked = request.requested_at or request.recorded_at
    first = min(state.first_at or asked, asked)
    if reaching is not None:
        return Window(min(first, reaching) - _BEFORE)
    # An end that was voided leaves no end in the state, so that nothing is cut too short.
    until = None if state.ended_at is None else state.ended_at + _AFTER
    return Window(first - _BEFORE, until)
