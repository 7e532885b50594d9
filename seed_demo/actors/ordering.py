"""New orders, so that the board never runs empty: for somebody in bed, or somebody new."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from seed_demo import chance
from seed_demo.actors.scene import DONE, Scene
from seed_demo.bags import VOLUMES_ML
from seed_demo.names import FAMILY, GIVEN
from seed_demo.staff import WARD_ID
from server.domain.request import Patient
from server.domain.words import BloodGroup, Component, Priority
from server.services.open_order import OrderDraft
from server.services.register_patient import PatientDraft

BEDS: Final = tuple(str(number) for number in range(1, 25))
FEWEST_TO_COME: Final = 3
MOST_WAITING: Final = 7
APART: Final = timedelta(minutes=4)
APART_WHEN_SHORT: Final = timedelta(minutes=1)
CHILD: Final = (2, 11)
ADULT: Final = (18, 90)
OLD: Final = 66

COMPONENTS: Final = (
    *(Component.RED_CELLS,) * 12,
    *(Component.PLATELETS,) * 3,
    *(Component.PLASMA,) * 3,
    Component.CRYOPRECIPITATE,
    Component.WHOLE_BLOOD,
    Component.GRANULOCYTES,
)
PRIORITIES: Final = (*(Priority.ROUTINE,) * 8, *(Priority.URGENT,) * 3, Priority.EMERGENCY)
GROUPS: Final = (*tuple(BloodGroup), BloodGroup.O_POS, BloodGroup.A_POS, BloodGroup.O_POS)


@dataclass(frozen=True, slots=True)
class NewOrder:
    """An order, with the patient it brings onto the ward, if it brings one."""

    order: OrderDraft
    patient: PatientDraft | None


def next_order(scene: Scene) -> NewOrder | None:
    """Answer the order that is placed now, if one is: never two in one minute or so."""
    is_short = scene.may_come < FEWEST_TO_COME
    newest = max((look.picture.case.request.recorded_at for look in scene.looks), default=None)
    apart = APART_WHEN_SHORT if is_short else APART
    if newest is not None and scene.now < newest + apart:
        return None
    if len(scene.waiting) >= MOST_WAITING or not (is_short or _one_more(scene)):
        return None
    return _order(scene)


def _one_more(scene: Scene) -> bool:
    return chance.happens(0.04, scene.seed, "order", f"{scene.now:%d %H:%M}")


def _order(scene: Scene) -> NewOrder | None:
    label = f"{scene.now:%Y%m%d-%H%M%S}"
    lying = _lying_free(scene)
    if lying and chance.happens(0.3, scene.seed, label, "known"):
        known, bed = chance.one_of(lying, scene.seed, label, "who")
        return NewOrder(_draft(scene, label, known.id, known.weight_kg, bed), None)
    beds = _empty_beds(scene)
    if not beds:
        return None
    new = _new_patient(scene.seed, label, scene.now.date())
    bed = chance.one_of(beds, scene.seed, label, "bed")
    return NewOrder(_draft(scene, label, f"patient-{label}", new.weight_kg, bed), new)


def _draft(
    scene: Scene, label: str, patient_id: str, weight_kg: float | None, bed: str
) -> OrderDraft:
    component = chance.one_of(COMPONENTS, scene.seed, label, "component")
    priority = chance.one_of(PRIORITIES, scene.seed, label, "priority")
    wanted = chance.minutes(60, 180, scene.seed, label, "wanted")
    return OrderDraft(
        id=f"order-{label}",
        patient_id=patient_id,
        ward_id=WARD_ID,
        bed=bed,
        component=component,
        units=_units(scene.seed, label, component),
        volume_ml=_volume_ml(scene.seed, label, component, weight_kg),
        priority=priority,
        wanted_by=_whole_minute(scene.now + wanted) if priority is Priority.ROUTINE else None,
        requirements=("irradiated",) if component is Component.GRANULOCYTES else (),
        sample_taken_at=scene.now - chance.minutes(70, 600, scene.seed, label, "sample"),
        requested_at=scene.now,
    )


def _units(seed: int, label: str, component: Component) -> int:
    several = {
        Component.RED_CELLS: (1, 1, 1, 2, 2, 3),
        Component.PLASMA: (1, 2, 2),
        Component.CRYOPRECIPITATE: (1, 2),
    }
    return chance.one_of(several.get(component, (1,)), seed, label, "units")


def _volume_ml(seed: int, label: str, component: Component, weight_kg: float | None) -> float:
    low, high = VOLUMES_ML[component]
    volume = round(chance.between(low, high, seed, label, "volume"))
    return float(min(volume, 5 * round(12 * (weight_kg or 70) / 5)))


def _lying_free(scene: Scene) -> list[tuple[Patient, str]]:
    """Patients who lie in a bed and have nothing under way, with their bed."""
    last = {}
    for look in sorted(scene.looks, key=lambda look: look.picture.case.request.recorded_at):
        last[look.picture.case.request.bed] = look.picture.case.patient
    active = {
        look.picture.case.patient.id for look in scene.looks if _is_active(look.episode.phase)
    }
    free = [(patient, bed) for bed, patient in last.items() if patient.id not in active]
    return sorted(free, key=lambda pair: pair[1])


def _empty_beds(scene: Scene) -> list[str]:
    """Beds in which nobody has anything under way, the ones used longest ago first."""
    used: dict[str, datetime] = {}
    for look in scene.looks:
        request = look.picture.case.request
        active = _is_active(look.episode.phase) or look.episode.reaction_at is not None
        at = scene.now if active else request.recorded_at
        used[request.bed] = max(at, used.get(request.bed, at))
    free = [bed for bed in BEDS if used.get(bed) != scene.now]
    fresh = [bed for bed in free if bed not in used]
    return fresh or sorted(free, key=lambda bed: used[bed])[:3]


def _is_active(phase: object) -> bool:
    return phase not in DONE


def _new_patient(seed: int, label: str, today: date) -> PatientDraft:
    is_child = chance.happens(0.06, seed, label, "child")
    years = round(chance.between(*(CHILD if is_child else ADULT), seed, label, "age"))
    days = round(chance.between(1, 360, seed, label, "birthday"))
    weight = 8 + 3 * years if is_child else chance.between(47, 98, seed, label, "kg")
    frail = years >= OLD and chance.happens(0.25, seed, label, "frail")
    return PatientDraft(
        id=f"patient-{label}",
        record_number=f"EB{round(chance.between(200_000, 999_999, seed, label, 'record'))}",
        family_name=chance.one_of(FAMILY, seed, label, "family"),
        given_name=chance.one_of(GIVEN, seed, label, "given"),
        birth_date=today - timedelta(days=365 * years + days),
        blood_group=chance.one_of(GROUPS, seed, label, "group"),
        weight_kg=round(weight, 1),
        overload_risks=("heart failure",) if frail else (),
    )


def _whole_minute(at: datetime) -> datetime:
    return at.replace(second=0)
