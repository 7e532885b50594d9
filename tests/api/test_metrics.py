"""Figures of the board itself: of the database now, of the process since it began, of nobody."""

from datetime import timedelta
from typing import Any

from prometheus_client.parser import text_string_to_metric_families
from sqlalchemy import text

from server.domain.invariants import Invariant, Patience
from server.services.look_at_invariants import keep_invariants
from server.services.tick import tick
from tests.api.board_api import NOON, BoardApi


def _figures(board: BoardApi) -> dict[tuple[str, frozenset[tuple[str, str]]], float]:
    answer = board.get("/metrics", "administrator")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain; version=1.0.0")
    return {
        (sample.name, frozenset(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }


def _plain(figures: dict[tuple[str, frozenset[Any]], float]) -> dict[str, float]:
    return {
        name.removeprefix("fourth_hour_"): value
        for (name, labels), value in figures.items()
        if not labels
    }


def test_what_waits_and_how_late_it_is(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    before = _plain(_figures(ward))
    ward.clock.now = NOON + timedelta(minutes=40)
    late = _plain(_figures(ward))
    tick(ward.store, now=ward.clock.now)
    ward.clock.now += timedelta(seconds=3)
    after = _plain(_figures(ward))

    assert "tick_age_seconds" not in before
    assert (before["units_due"], before["units_due_lag_seconds"]) == (0, 0)
    assert (late["units_due"], late["units_due_lag_seconds"]) == (1, 1200)  # the notice, at 20 min
    assert after == {
        "leads": 0,
        "streams": 0,
        "tick_age_seconds": 3,
        "units_due": 0,
        "units_due_lag_seconds": 0,
        "units_set_aside": 0,
        "reminders_raised": after["reminders_raised"],
        "reminder_delay_seconds": 1200,
        "messages_waiting": 0,
        "message_age_seconds": 0,
    }
    assert after["reminders_raised"] > 0


def test_requests_are_counted_by_route_and_no_label_names_a_unit(ward: BoardApi) -> None:
    ward.get("/api/episodes/e1")
    ward.get("/api/episodes/e1")
    ward.get("/api/episodes/none")
    ward.get("/nowhere/e1")
    for method in ("SEEK", "FIND"):
        ward.client.request(method, "/nowhere")
    figures = _figures(ward)
    printed = ward.get("/metrics", "administrator").text

    def counted(route: str, status: str, method: str = "GET") -> float:
        labels = {("method", method), ("route", route), ("status", status)}
        return figures["fourth_hour_requests_total", frozenset(labels)]

    assert counted("/api/episodes/{id}", "200") == 2
    assert counted("/api/episodes/{id}", "404") == 1
    assert counted("other", "404") == 1
    assert counted("other", "404", "other") == 2
    seconds = frozenset({("route", "/api/episodes/{id}")})
    assert figures["fourth_hour_request_seconds_count", seconds] == 3
    assert "e1" not in printed


def test_an_invariant_that_does_not_hold_is_told_by_how_many(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    tick(ward.store, now=NOON)
    with ward.store.write() as session:
        session.run(text("UPDATE episode_state SET bed = '99'"))
    keep_invariants(ward.store, now=NOON, patience=Patience())

    figures = _figures(ward)
    told = {
        dict(labels)["invariant"]: value
        for (name, labels), value in figures.items()
        if name == "fourth_hour_invariant_broken"
    }

    assert told == {one.value: float(one is Invariant.ROWS_AS_FACTS) for one in Invariant}
