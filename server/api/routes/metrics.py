"""Figures for whoever keeps the board running, in the text form that Prometheus reads."""

from typing import Final

from fastapi import APIRouter, Request, Response
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_1_0_0

from server.api.answers.problem import READING
from server.api.caller import Asks
from server.api.measuring import Measures, VitalsCollector
from server.domain.invariants import Patience
from server.services.read_invariants import broken_now
from server.services.read_vitals import read_vitals
from server.services.shown import shows_no_patient

TEXT: Final = CONTENT_TYPE_PLAIN_1_0_0

router = APIRouter(tags=["health"])


@router.get("/metrics", response_class=Response, responses=READING)
@shows_no_patient
def get_metrics(asks: Asks, request: Request) -> Response:
    """The figures of the database now, and of this process since it began; nothing of a patient."""
    state = request.app.state
    with asks.read() as (session, now):
        vitals = read_vitals(session, asks.actor, now=now)
        broken = broken_now(session, now=now, patience=Patience(state.settings.stale_after))
    leads: bool = state.store.lead.was_held
    streams = sum(len(one.listeners) for one in [*state.streams.channels.values()])
    told = VitalsCollector(vitals, broken, leads=leads, streams=streams)
    return Response(_text(state.measures, told), media_type=TEXT)


def _text(measures: Measures, vitals: VitalsCollector) -> bytes:
    now = CollectorRegistry()
    now.register(vitals)
    return generate_latest(now) + generate_latest(measures.registry)
