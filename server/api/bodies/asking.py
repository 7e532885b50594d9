"""Bodies that ask for blood: patients, orders, episodes."""

from typing import Annotated

from pydantic import Field

from server.api.fields import (
    WHOLE,
    BloodGroup,
    Component,
    Id,
    Line,
    Lines,
    OrderId,
    Priority,
    Ref,
    Strict,
    VolumeMl,
    within,
)
from server.api.instants import Day, Instant
from server.domain import limits
from server.services.open_episode import EpisodeDraft
from server.services.open_order import OrderDraft
from server.services.register_patient import PatientDraft


class PatientBody(Strict):
    """A patient; an id that exists changes what is known of that patient."""

    id: Id | None = None
    record_number: Line
    family_name: Line
    given_name: Line
    birth_date: Day
    blood_group: BloodGroup | None = None
    weight_kg: Annotated[float, within(limits.WEIGHT_KG)] | None = None
    pregnant: bool | None = None
    overload_risks: Lines = Field(default_factory=list)
    spo2_scale: Annotated[int, Field(ge=1, le=2), WHOLE] | None = None

    def draft(self) -> PatientDraft:
        """What it asks to record."""
        return PatientDraft(**self.model_dump() | {"overload_risks": tuple(self.overload_risks)})


class PatientSearchBody(Strict):
    """Part of a name or of a record number."""

    text: Line


class OrderBody(Strict):
    """What was prescribed; it gives one episode for each unit, with the order's id and a number.

    A requirement is one of the known names, such as `irradiated` or `cmv_negative`, or a free text.
    """

    id: OrderId | None = None
    patient_id: Ref
    ward_id: Ref
    bed: Line
    component: Component
    units: Annotated[int, within(limits.UNITS), WHOLE]
    volume_ml: VolumeMl | None = None
    urgency: Priority
    not_before: Instant | None = None
    wanted_by: Instant | None = None
    max_rate_ml_h: Annotated[float, Field(ge=1, le=limits.RATE_ML_H[1])] | None = None
    duration_minutes: Annotated[int, within(limits.DURATION_MINUTES), WHOLE] | None = None
    requirements: Lines = Field(default_factory=list)
    sample_taken_at: Instant | None = None

    def draft(self) -> OrderDraft:
        """What it asks to order."""
        facts = self.model_dump(exclude={"urgency"})
        more = {"priority": self.urgency, "requirements": tuple(self.requirements)}
        return OrderDraft(**facts | more)


class EpisodeBody(Strict):
    """One unit for one patient, without an order."""

    id: Id | None = None
    patient_id: Ref
    ward_id: Ref
    bed: Line
    component: Component
    volume_ml: VolumeMl
    nurse_id: Ref | None = None

    def draft(self) -> EpisodeDraft:
        """What it asks to open."""
        return EpisodeDraft(**self.model_dump())
