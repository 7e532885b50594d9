"""The breaches of a ward, as answered."""

from server.api.answers.clocks import BreachAnswer, breach_answer
from server.domain.words import Component
from server.services.list_breaches import BreachRow


class WardBreachAnswer(BreachAnswer):
    """A limit that was not kept, and the unit it belongs to."""

    episode_id: str
    bed: str
    patient_id: str
    component: Component
    nurse_id: str | None


def ward_breach_answer(row: BreachRow) -> WardBreachAnswer:
    """A breach with its unit."""
    request = row.picture.case.request
    return WardBreachAnswer(
        **breach_answer(row.breach).model_dump(),
        episode_id=request.id,
        bed=request.bed,
        patient_id=request.patient_id,
        component=request.component,
        nurse_id=row.picture.episode.nurse_id,
    )
