"""The picture: everything that is known of one unit, as it stands at one instant.

A case is the facts; a picture is the case looked at from an instant. Replaying yesterday is the
same call with another instant.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from typing import Final

from server.domain.advices import Advice, advices_at
from server.domain.breaches import Breach, breaches_at
from server.domain.clock import Clock, state_at
from server.domain.clocks import schedule
from server.domain.clocks_unit import finish_limit_at
from server.domain.episode import Episode
from server.domain.events import Event
from server.domain.facts import Facts, HungSet, facts_of
from server.domain.fold import fold
from server.domain.gate import overridden_at_start
from server.domain.giving_sets import drops_per_ml_of
from server.domain.infusion import Infusion, infusion_at
from server.domain.plan.planned import Planned
from server.domain.policy import Policy
from server.domain.rates import permitted_rate_ml_h
from server.domain.reaction import Elsewhere
from server.domain.reminders import Reminder, reminders_owed
from server.domain.request import Patient, Request
from server.domain.site import NO_SITE, Site
from server.domain.standing import Standing
from server.domain.unit_check import Around, UnitCheck, check_unit
from server.domain.urgency import Urgency, sort_key, urgency_at
from server.domain.words import ClockState, Kind, Phase

OFF_THE_BOARD: Final = frozenset({Phase.CLOSED, Phase.RETURNED, Phase.DISCARDED, Phase.CANCELLED})


@dataclass(frozen=True, slots=True)
class Case:
    """The facts of one unit: its request, its patient, its events and what judges it.

    `events` are the episode's own and the patient's observations near it. `line` are the giving
    sets hung for the patient's other units, in order, and `elsewhere` the reactions suspected with
    them. `zone` is the ward's time zone. `planned` is what the accepted plan says of the unit.
    """

    request: Request
    patient: Patient
    policy: Policy
    events: tuple[Event, ...]
    zone: tzinfo
    line: tuple[HungSet, ...] = ()
    elsewhere: tuple[Elsewhere, ...] = ()
    site: Site = NO_SITE
    planned: Planned | None = None

    @property
    def around(self) -> Around:
        """What surrounds the facts: the patient, the site's files, the ward's time zone."""
        return Around(self.patient, self.site, self.zone)

    def facts_of(self, episode: Episode) -> Facts:
        """Answer what the schedule needs, with the episode folded."""
        return facts_of(episode, self.policy, self.line, self.elsewhere, self.around)

    def known(self, at: datetime | None = None, known_at: datetime | None = None) -> "Case":
        """Answer the case with the facts that had happened by `at` and were recorded by `known_at`.

        A void is a correction of what is known, not a bedside fact: `at` does not hide it. Nor
        does it hide what was on record by then under a time a little ahead of the clock: with a
        `known_at` no later than `at` it is a screen that is shown again, and it showed that.
        """
        seen = None if at is not None and known_at is not None and known_at <= at else at
        events = [
            event
            for event in self.events
            if (known_at is None or event.recorded_at <= known_at)
            and (seen is None or event.happened_at <= seen or event.kind is Kind.VOIDED)
        ]
        line = tuple(hung for hung in self.line if seen is None or hung.at <= seen)
        elsewhere = tuple(
            one if seen is None else one.known_by(seen)
            for one in self.elsewhere
            if seen is None or one.since <= seen
        )
        return replace(self, events=tuple(events), line=line, elsewhere=elsewhere)


@dataclass(frozen=True, slots=True)
class Picture:
    """One unit at one instant."""

    case: Case
    standing: Standing
    urgency: Urgency

    @property
    def advices(self) -> tuple[Advice, ...]:
        """What to think of; worked out when asked, for a board does not show it."""
        return advices_at(self.standing)

    @property
    def check(self) -> UnitCheck:
        """Whether the unit suits its patient: at its start, or now while it is not started."""
        case, at = self.case, self.episode.started_at or self.standing.now
        return check_unit(self.episode, case.policy, case.around, at)

    @property
    def overridden(self) -> tuple[str, ...]:
        """What a reason was given against at the start, in words; it stays for ever."""
        return overridden_at_start(self.case.facts_of(self.episode))

    @property
    def breaches(self) -> tuple[Breach, ...]:
        """Which limits were not kept; worked out when asked."""
        return breaches_at(self.standing)

    @property
    def reminders(self) -> tuple[Reminder, ...]:
        """Every reminder that has become owed; worked out when asked."""
        return reminders_owed(self.standing)

    @property
    def episode(self) -> Episode:
        """The folded episode."""
        return self.standing.episode

    @property
    def clocks(self) -> tuple[tuple[Clock, ClockState], ...]:
        """Every clock with its state, in the order of the pathway."""
        return self.standing.clocks

    @property
    def infusion(self) -> Infusion:
        """The flow."""
        return self.standing.infusion

    @property
    def next_clock(self) -> Clock | None:
        """What is owed next."""
        return self.standing.next_clock

    @property
    def open_until(self) -> datetime | None:
        """The instant from which the unit is off the board, None while something keeps it there.

        It leaves when its bag is accounted for, no suspected reaction is open and the late watch
        is over.
        """
        episode = self.episode
        last = episode.ended_at or episode.moved_at
        off = episode.phase in OFF_THE_BOARD and episode.reaction_at is None
        if not off or last is None:
            return None
        until = last + self.case.policy.late_watch
        return until if episode.fate_at is None else max(until, episode.fate_at)

    @property
    def sort_key(self) -> tuple[object, ...]:
        """Where the row stands among others."""
        return sort_key(self.urgency, self.case.request.bed, self.case.request.id)


def picture(case: Case, now: datetime) -> Picture:
    """Answer how the unit stands at `now` with all facts of `case`."""
    return _picture(case, _facts(case), now)


def pictures(case: Case, instants: Sequence[datetime]) -> list[Picture]:
    """Answer the same facts looked at from several instants, folding only once."""
    facts = _facts(case)
    return [_picture(case, facts, now) for now in instants]


def _facts(case: Case) -> Facts:
    return case.facts_of(fold(case.request, case.events))


def _picture(case: Case, facts: Facts, now: datetime) -> Picture:
    standing = stand(case, facts, schedule(facts), now)
    return Picture(case=case, standing=standing, urgency=urgency_at(standing))


def stand(case: Case, facts: Facts, clocks: Sequence[Clock], now: datetime) -> Standing:
    """Look at clocks and flow from one instant."""
    episode = facts.episode
    limit = finish_limit_at(facts)
    on = (episode.started_at or episode.issued_at or now).astimezone(case.zone)
    permitted, rule = permitted_rate_ml_h(case.request, case.patient, case.policy, on)
    infusion = infusion_at(
        episode,
        case.policy,
        permitted_ml_h=permitted,
        finish_limit_at=limit,
        now=now,
        drops_per_ml=drops_per_ml_of(episode, case.line, case.policy),
    )
    return Standing(
        episode=episode,
        policy=case.policy,
        clocks=tuple((clock, state_at(clock, now)) for clock in clocks),
        infusion=infusion,
        finish_limit_at=limit,
        rate_rule=rule,
        now=now,
        zone=case.zone,
        held_by=_held_by(case, now) if case.elsewhere else None,
        around=case.around,
        planned=case.planned if episode.started_at is None else None,
    )


def _held_by(case: Case, now: datetime) -> Elsewhere | None:
    still_open = [one for one in case.elsewhere if one.is_open_at(now)]
    return min(still_open, key=lambda one: (one.since, one.episode_id), default=None)


def observations_shown(case: Case, now: datetime) -> tuple[Event, ...]:
    """The sets to show with a unit: from a look back before it began to the end of its watch."""
    facts = _facts(case)
    episode = facts.episode
    begun = episode.issued_at or episode.started_at or now
    first = begun - case.policy.observations_look_back
    last = now if episode.ended_at is None else episode.ended_at + case.policy.late_watch
    slack = timedelta(minutes=2)  # clocks at the bedside may be a little ahead
    return tuple(
        event for event in episode.observations if first <= event.happened_at <= last + slack
    )
