"""The audit trail: who did, saw or took away what, and when."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.audit import AuditAnswer, audit_answer
from server.api.answers.problem import READING
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.queries import AuditAsked
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.services.read_audit import read_audit
from server.services.shown import shows

router = APIRouter(route_class=StrictRoute, tags=["audit"])


@router.get("/audit", response_model=AuditAnswer, responses=READING)
@shows(SubjectKind.AUDIT, ward="ward_id")
def get_audit(asks: Asks, query: Annotated[AuditAsked, Query()]) -> Response:
    """The trail of the caller's wards, the newest first, for managers and administrators."""
    with asks.read() as (session, _):
        trail = read_audit(session, asks.actor, query.wanted, limit=query.limit)
    return json_answer(audit_answer(trail))
