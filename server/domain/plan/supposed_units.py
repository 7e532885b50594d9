"""Units that are only supposed, as the ward would see them: asked for now, by its own policy."""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import Final

from server.domain.picture import Case, Picture, picture
from server.domain.plan.suppose import MoreUnits
from server.domain.request import Patient, Request

SUPPOSED: Final = "supposed"


def supposed_pictures(
    more: Iterable[MoreUnits],
    ward: Iterable[Picture],
    case_of: Callable[[Request, Patient], Case],
    now: datetime,
) -> tuple[Picture, ...]:
    """Answer the pictures of supposed units at `now`.

    They are of the patient who is in the bed by the pictures of the `ward`, or of somebody who
    is supposed too. `case_of` puts a request and a patient into what surrounds the ward.
    """
    there = {one.case.request.bed: one.case.patient for one in ward}
    cases = (
        case_of(request, there.get(order.bed) or _somebody(order.bed))
        for place, order in enumerate(more, start=1)
        for request in _requests(order, place, there, now)
    )
    return tuple(picture(case, now) for case in cases)


def is_supposed(episode_id: str) -> bool:
    """Whether a unit is only supposed."""
    return episode_id.startswith(f"{SUPPOSED} ")


def _somebody(bed: str) -> Patient:
    return Patient(f"{SUPPOSED} {bed}", "", "Supposed", "", None)


def _requests(
    order: MoreUnits, place: int, there: dict[str, Patient], now: datetime
) -> Iterator[Request]:
    patient = there.get(order.bed) or _somebody(order.bed)
    for n in range(1, order.count + 1):
        yield Request(
            id=f"{SUPPOSED} {place} {n}",
            patient_id=patient.id,
            ward_id="",
            bed=order.bed,
            component=order.component,
            recorded_at=now,
            recorded_by="",
            volume_ml=order.volume_ml,
            n=n,
            units=order.count,
            priority=order.priority,
            not_before=order.ready_at,
            duration_minutes=order.duration_minutes,
        )
