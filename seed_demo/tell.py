"""Tell the stories to the ward, in the order in which it would have learnt of them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cache
from typing import Final

from seed_demo.bags import handed_over
from seed_demo.kinds import kind_of
from seed_demo.patients import PATIENTS, Lying
from seed_demo.set_up import set_up_ward
from seed_demo.staff import BLOOD_BANK, EARLY, WARD_ID, actor_named
from seed_demo.stories_calm import calm_stories
from seed_demo.stories_urgent import urgent_stories
from seed_demo.told import Act, Handed, Signs, Story, TakenBack
from seed_demo.vital_signs import Body
from seed_demo.year.lantern import tell_weeks
from server.domain.payloads import Observed, Payload, Voided
from server.domain.request import Patient
from server.services.open_order import OrderDraft, open_order
from server.services.record_event import Draft, record_event
from server.services.register_patient import PatientDraft, register_patient
from server.services.tick import tick
from server.store.sessions import WriteSession
from server.store.store import Store

MINUTE: Final = timedelta(minutes=1)
STRETCH_MINUTES: Final = 10
"""How much is told between two looks at the clocks."""

SCHOOL_YEARS: Final = 6


@cache
def all_stories() -> tuple[Story, ...]:
    """Every order on the ward when the demonstration begins."""
    return (*urgent_stories(), *calm_stories())


def episode_id(story_key: str, n: int = 1) -> str:
    """The identity that a unit of a story gets."""
    keys = [story.key for story in all_stories()]
    return f"order-{keys.index(story_key) + 1:02d}-{n}"


@dataclass(slots=True)
class Teller:
    """Tells stories into a ward; `start` is the instant at which they end."""

    seed: int
    start: datetime
    patients: dict[str, Patient] = field(default_factory=dict)
    event_ids: dict[str, str] = field(default_factory=dict)
    told: int = 0

    def at(self, minute: float) -> datetime:
        """The instant of a minute."""
        return self.start + timedelta(seconds=round(minute * 60))

    def order(self, session: WriteSession, story: Story) -> None:
        """The patient is on the ward, and the order is placed."""
        now = self.at(story.asked)
        if story.patient not in self.patients:
            draft = _patient_draft(PATIENTS[story.patient], self.seed, self.start.date())
            patient = register_patient(session, BLOOD_BANK, draft, now=now)
            self.patients[story.patient] = patient
        open_order(session, EARLY.charge.actor, self._order_draft(story), now=now)

    def act(self, session: WriteSession, story: Story, n: int, act: Act) -> None:
        """One fact of a unit."""
        payload = self._payload(story, n, act)
        unit = episode_id(story.key, n)
        self.told += 1
        name = f"told-{self.told:04d}"
        draft = Draft(kind_of(payload), self.at(act.minute), payload, id=name)
        recorded = record_event(session, actor_named(act.by), unit, draft, now=self.at(act.told_at))
        if act.label is not None:
            self.event_ids[act.label] = recorded.event_id

    def _payload(self, story: Story, n: int, act: Act) -> Payload:
        what = act.what
        if isinstance(what, Signs):
            return _signs(what, self._body(story.patient).set_at(act.minute))
        if isinstance(what, Handed):
            removed, patient = self.at(what.removed), self.patients[story.patient]
            unit = episode_id(story.key, n)
            return handed_over(self.seed, unit, story.component, patient, removed)
        if isinstance(what, TakenBack):
            return Voided(self.event_ids[what.label], what.reason)
        return what

    def _body(self, patient_key: str) -> Body:
        born_years, _ = PATIENTS[patient_key].born
        return Body(self.seed, patient_key, is_child=born_years < SCHOOL_YEARS)

    def _order_draft(self, story: Story) -> OrderDraft:
        wanted, not_before = story.wanted, story.not_before
        return OrderDraft(
            id=episode_id(story.key).rpartition("-")[0],
            patient_id=story.patient,
            ward_id=WARD_ID,
            bed=story.bed,
            component=story.component,
            units=len(story.units),
            volume_ml=story.volume_ml,
            priority=story.priority,
            not_before=None if not_before is None else self.at(not_before),
            wanted_by=None if wanted is None else self.at(wanted),
            max_rate_ml_h=story.max_rate_ml_h,
            duration_minutes=story.duration_minutes,
            requirements=story.requirements,
            sample_taken_at=self.at(story.asked - 95),
            requested_at=self.at(story.asked),
        )


@dataclass(frozen=True, slots=True)
class Entry:
    """What the ward learns of a story at one minute; without an act it is the order."""

    minute: float
    story: Story
    n: int = 0
    act: Act | None = None


def tell_ward(store: Store, *, seed: int, start: datetime, timezone: str, weeks: int = 0) -> None:
    """Fill an empty database with the ward as it stands at `start`.

    `timezone` is the ward's, an IANA name, and `weeks` how many of its past are told before, at
    most thirteen. The same seed and start give the same facts.
    """
    with store.write() as session:
        set_up_ward(session, start=start, timezone=timezone)
    if weeks:
        tell_weeks(store, seed=seed, start=start, timezone=timezone, weeks=weeks)
    teller = Teller(seed, start)
    for stretch, entries in sorted(_stretches(all_stories()).items()):
        with store.write() as session:
            for entry in entries:
                _tell(teller, session, entry)
        tick(store, now=min(start, teller.at((stretch + 1) * STRETCH_MINUTES)))
    tick(store, now=start)


def _tell(teller: Teller, session: WriteSession, entry: Entry) -> None:
    if entry.act is None:
        teller.order(session, entry.story)
    else:
        teller.act(session, entry.story, entry.n, entry.act)


def _stretches(stories: Iterable[Story]) -> Mapping[int, list[Entry]]:
    """Everything that is told, in order, by the stretch of minutes in which it is."""
    stretches: dict[int, list[Entry]] = defaultdict(list)
    listed = [entry for story in stories for entry in _entries(story)]
    for entry in sorted(listed, key=lambda entry: entry.minute):
        stretches[int(entry.minute // STRETCH_MINUTES)].append(entry)
    return stretches


def _entries(story: Story) -> list[Entry]:
    acts = [(n, act) for n, unit in enumerate(story.units, start=1) for act in unit]
    told = [Entry(act.told_at, story, n, act) for n, act in acts]
    return [Entry(story.asked, story), *told]


def _signs(what: Signs, usual: Observed) -> Observed:
    return replace(
        usual,
        temperature_c=what.temperature_c or usual.temperature_c,
        pulse_per_min=what.pulse_per_min or usual.pulse_per_min,
        systolic_mmhg=what.systolic_mmhg or usual.systolic_mmhg,
        symptoms=what.symptoms,
    )


def _patient_draft(lying: Lying, seed: int, today: date) -> PatientDraft:
    years, days = lying.born
    birthday = today.replace(day=min(today.day, 28), year=today.year - years)
    return PatientDraft(
        id=lying.key,
        record_number=f"EB{104_200 + 37 * int(lying.key[1:]) + seed % 37}",
        family_name=lying.family_name,
        given_name=lying.given_name,
        birth_date=birthday - timedelta(days=days),
        blood_group=lying.blood_group,
        weight_kg=lying.weight_kg,
        pregnant=lying.pregnant,
        overload_risks=lying.overload_risks,
        spo2_scale=lying.spo2_scale,
    )
