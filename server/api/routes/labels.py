"""Labels of bags, wristbands and badges. A scan comes in a body, never in an address."""

from fastapi import APIRouter, Response

from server.api.answers.label import LabelAnswer, label_answer
from server.api.answers.problem import WRITING
from server.api.bodies.label import LabelBody
from server.api.once import Writes
from server.api.requests import StrictRoute
from server.services.read_label import read_label

router = APIRouter(route_class=StrictRoute, tags=["labels"])


@router.post("/labels", response_model=LabelAnswer, responses=WRITING)
def post_label(body: LabelBody, writes: Writes) -> Response:
    """Read what a scanner sent. Nothing is stored of it but, under a key, the answer."""
    return writes.write(
        lambda session, actor, _: label_answer(
            read_label(session, actor, body.scan, ward_id=body.ward_id)
        ),
        status=200,
    )
