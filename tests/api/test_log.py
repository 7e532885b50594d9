"""The log: one line a happening, whatever somebody typed, and nobody waits for it."""

import json
import logging
import os
import re
from time import monotonic
from typing import Any

import pytest

from server.logs import NUMBER, belongs_to, new_number
from server.logs.lines import PROCESS, as_json, as_text
from server.logs.writer import LogWriter
from server.services.plan_runs import PlanRuns, Run
from server.store.sessions import WriteSession
from tests.api.board_api import PATIENT, BoardApi, problem_of
from tests.api.test_problems import NOTE
from tests.kept_log import Kept, kept

FORGED = 'x\r\nERROR forged\x1b[2J\u2028\x00\ud800"}\n{"level": "error"'
__all__ = ["kept"]

OWN = re.compile(r"[0-9A-HJKMNP-TV-Z]{5}-[0-9A-HJKMNP-TV-Z]{5}")


def _record(words: str, **more: Any) -> logging.LogRecord:
    record = logging.LogRecord("server.x", logging.WARNING, __file__, 1, words, (), None)
    vars(record).update(more)
    return record


def test_a_line_is_one_object_with_what_it_belongs_to_and_nothing_that_a_library_adds() -> None:
    record = _record("refused", status=403, color_message="red", name_of_patient="Alder")
    record.created = 1795813706.0129

    with belongs_to(request="7K3QM-9TXR2", job="tick"):
        line = as_json().format(record)

    assert json.loads(line) == {
        "at": "2026-11-27T21:08:26.012Z",
        "level": "warning",
        "logger": "server.x",
        "event": "refused",
        "status": 403,
        "request": "7K3QM-9TXR2",
        "job": "tick",
        "process": PROCESS,
    }


def test_what_is_typed_makes_no_line_of_its_own_and_no_field() -> None:
    record = _record(FORGED, route=FORGED)

    told, text = as_json().format(record), as_text().format(record)

    assert told.isprintable()
    assert (json.loads(told)["event"], json.loads(told)["route"]) == (FORGED, FORGED)
    assert text.isprintable()
    assert r"x\r\nERROR forged\x1b[2J\u2028\x00\ud800" in text


def test_a_fault_is_told_without_its_message_in_both_forms() -> None:
    said = "{family_name}, born {birth_date}".format(**PATIENT)

    def fail() -> None:
        raise RuntimeError(said)

    with pytest.raises(RuntimeError) as failed:
        fail()
    record = _record("a job fails", exc_info=(failed.type, failed.value, failed.tb))

    line, text = as_json().format(record), as_text().format(record)

    assert "test_log.py" in json.loads(line)["stack"]
    assert [one for one in text.splitlines()[1:] if not one.startswith("    ")] == []
    assert ("RuntimeError" in text, "Alder" in line + text) == (True, False)


@pytest.mark.parametrize("kind", ["full", "closed"])
def test_a_log_that_cannot_be_written_stops_nobody_and_is_told_of_later(kind: str) -> None:
    """A full disk, and a pipe whose reader is gone: what was lost is counted in the next line."""
    reading, writing = os.pipe()
    where = os.open("/dev/full", os.O_WRONLY) if kind == "full" else _pipe_without_reader()
    writer = LogWriter(where)
    writer.setFormatter(as_json())

    for n in range(3):
        writer.handle(_record(f"lost {n}"))
    _wait_for(lambda: writer.lost == 3)
    os.dup2(writing, where)
    writer.handle(_record("told"))
    writer.close()
    for one in (where, writing):
        os.close(one)
    with os.fdopen(reading) as read:
        lines = [json.loads(line)["event"] for line in read]

    assert lines == ["3 lines of the log were lost before this one", "told"]
    assert writer.lost == 0


def _pipe_without_reader() -> int:
    reading, writing = os.pipe()
    os.close(reading)
    return writing


def test_a_reader_that_stands_still_holds_up_nobody_and_no_end() -> None:
    reading, writing = os.pipe()
    writer = LogWriter(writing, most_waiting=100, leave_seconds=0.1)
    writer.setFormatter(as_text())
    long = "x" * 10_000

    begun = monotonic()
    for _ in range(1_000):
        writer.handle(_record(long))
    logged = monotonic() - begun
    writer.close()
    ended = monotonic() - begun

    assert (logged < 30, ended < 30, writer.lost > 300) == (True, True, True)
    os.close(reading)


def _wait_for(reached: Any) -> None:
    until = monotonic() + 90
    while not reached():
        assert monotonic() < until


def test_a_line_that_cannot_be_put_into_words_stops_nobody() -> None:
    reading, writing = os.pipe()
    writer = LogWriter(writing)
    writer.setFormatter(as_json())

    writer.handle(logging.LogRecord("x", logging.ERROR, "", 1, "%d", ("no number",), None))
    lost = writer.lost
    writer.close()
    os.close(writing)

    assert lost == 1
    os.close(reading)


def test_an_answer_and_its_line_carry_one_number(ward: BoardApi, kept: Kept) -> None:
    token = ward.headers("interface")
    kept.lines.clear()

    answer = ward.client.get("/api/episodes/e1", headers=token)
    missing = ward.client.get("/api/wards/w9/people", headers=token)
    ward.client.get("/healthz")

    number, other = (one.headers["x-request-id"] for one in (answer, missing))
    assert OWN.fullmatch(number)
    assert problem_of(missing)["instance"] == f"urn:fourth-hour:request:{other}"
    assert kept.of("answered") == [
        {
            "level": "info",
            "logger": "server.api.entrance",
            "event": "answered",
            "method": "GET",
            "route": "/api/episodes/{id}",
            "status": 200,
            "person": kept.lines[0]["person"],
            "client": "testclient",
            "request": number,
        },
        kept.of("answered")[1] | {"status": 404, "request": other},
        kept.of("answered")[2] | {"level": "debug", "route": "/healthz", "status": 200},
    ]
    assert "ward" not in kept.of("answered")[1]


def test_a_fault_in_a_thread_has_the_number_of_its_request(
    ward: BoardApi, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_down(_: WriteSession) -> Any:
        raise RuntimeError(f"{PATIENT['family_name']}, born 1961-05-04")

    monkeypatch.setattr(WriteSession, "stamp_changes", break_down)
    answer = ward.post("/api/episodes/e1/events", NOTE)

    number = answer.headers["x-request-id"]
    failed, answered = kept.of("a request failed"), kept.of("answered")[-1]
    assert [one["request"] for one in failed] == [number]
    assert (answered["level"], answered["status"], answered["request"]) == ("error", 500, number)
    assert problem_of(answer)["instance"] == f"urn:fourth-hour:request:{number}"
    assert "Alder" not in repr(kept.lines)


def test_a_plan_in_the_making_belongs_to_the_request_that_asked_for_it(kept: Kept) -> None:
    """It is made in a thread that lives on, and that another request's plan may have had before."""
    runs = PlanRuns()

    def make(run: Run) -> str:
        logging.getLogger("server.x").info("made %s", run.id)
        return run.id

    for number in ("first", "second"):
        with belongs_to(request=number):
            run = Run(number, f"w-{number}", "charge-1", 1)
            runs.begin(run, make)
            run.made.result(30)
    runs.close()

    assert [(one["event"], one["request"]) for one in kept.lines] == [
        ("made first", "first"),
        ("made second", "second"),
    ]


@pytest.mark.parametrize("given", ["7K3QM-9TXR2", "0f8fad5b-d9cb-469f-a165-70867728950e"])
def test_nobody_but_a_proxy_chooses_a_number(ward: BoardApi, given: str) -> None:
    assert NUMBER.fullmatch(given)

    answer = ward.client.get("/healthz", headers={"X-Request-ID": given})

    assert OWN.fullmatch(answer.headers["x-request-id"])


def test_numbers_do_not_come_twice() -> None:
    numbers = {new_number() for _ in range(10_000)}

    assert len(numbers) == 10_000
    assert [one for one in numbers if not (OWN.fullmatch(one) and NUMBER.fullmatch(one))] == []
