"""The board, what is due, reminders and breaches."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.alarm_load import LoadAnswer, load_answer
from server.api.answers.board import BoardAnswer, DueAnswer, board_answer, due_answer
from server.api.answers.breaches import WardBreachAnswer, ward_breach_answer
from server.api.answers.problem import READING
from server.api.answers.reminders import ReminderAnswer, reminder_answer
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.queries import BoardQuery, BreachesQuery, DueQuery, LoadQuery, RemindersQuery
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.services.list_breaches import list_breaches
from server.services.list_due import list_due
from server.services.list_reminders import list_reminders
from server.services.read_alarm_load import read_alarm_load
from server.services.read_board import read_board
from server.services.shown import shows, shows_no_patient

router = APIRouter(route_class=StrictRoute, tags=["board"])


@router.get("/board", response_model=BoardAnswer, responses=READING)
@shows(SubjectKind.BOARD, ward="ward_id")
def get_board(asks: Asks, query: Annotated[BoardQuery, Query()]) -> Response:
    """A ward's units in order of urgency."""
    with asks.read() as (session, now):
        board = read_board(
            session, asks.actor, query.ward_id, now=now, at=query.at, known_at=query.known_at
        )
    return json_answer(board_answer(board))


@router.get("/due", response_model=list[DueAnswer], responses=READING)
@shows(SubjectKind.BOARD, ward="ward_id")
def get_due(asks: Asks, query: Annotated[DueQuery, Query()]) -> Response:
    """The clocks that are owed, the first due first."""
    with asks.read() as (session, now):
        owed = list_due(
            session,
            asks.actor,
            query.ward_id,
            now=now,
            at=query.at,
            known_at=query.known_at,
            nurse_id=query.nurse_id,
            within_minutes=query.within_minutes,
        )
    return json_answer([due_answer(item) for item in owed])


@router.get("/reminders", response_model=list[ReminderAnswer], responses=READING)
@shows(SubjectKind.REMINDERS, ward="ward_id")
def get_reminders(asks: Asks, query: Annotated[RemindersQuery, Query()]) -> Response:
    """The reminders of a ward in the order in which they were raised."""
    with asks.read() as (session, _):
        raised = list_reminders(session, asks.actor, query.ward_id, since=query.since)
    return json_answer(
        [
            reminder_answer(reminder, query.at)
            for reminder in raised
            if query.at is None or reminder.raised_at <= query.at
        ]
    )


@router.get("/reminders/load", response_model=LoadAnswer, responses=READING)
@shows_no_patient
def get_alarm_load(asks: Asks, query: Annotated[LoadQuery, Query()]) -> Response:
    """How many reminders a ward raised in a period, and what came of them; nobody is named."""
    with asks.read() as (session, now):
        found = read_alarm_load(session, asks.actor, query.ward_id, query.period, now=now)
    return json_answer(load_answer(found))


@router.get("/breaches", response_model=list[WardBreachAnswer], responses=READING)
@shows(SubjectKind.BREACHES, ward="ward_id")
def get_breaches(asks: Asks, query: Annotated[BreachesQuery, Query()]) -> Response:
    """The limits that were not kept on a ward."""
    with asks.read() as (session, now):
        found = list_breaches(
            session,
            asks.actor,
            query.ward_id,
            query.period,
            now=now,
            wanted=query.wanted,
            at=query.at,
            known_at=query.known_at,
        )
    return json_answer([ward_breach_answer(row) for row in found])
