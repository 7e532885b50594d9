"""The job that writes paper sheets: each ward its file, by the one who leads, whatever fails."""

import logging
import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from server.app import jobs_of
from server.jobs.scheduler import Scheduler
from server.jobs.table import JOBS, Job
from server.pages.sheets.writing import SheetWriter
from server.services.tick import tick
from server.settings import Settings
from server.store.store import Store
from tests.api.board_api import NOON, BoardApi
from tests.databases import PostgresServer, closed, postgres
from tests.jobs.test_scheduler import FAST, ran, wait_until

__all__ = ["postgres"]

KNOWN = re.compile(r"As known at <b>([^<]+)</b>")


def sheets_in(folder: Path) -> dict[str, str]:
    """What each file in a folder says it was known at, by its name."""
    known = {file.name: KNOWN.search(file.read_text("utf-8")) for file in folder.iterdir()}
    return {name: found[1] if found else "" for name, found in known.items()}


def test_every_ward_has_its_sheet_brought_up_to_date(ward: BoardApi, tmp_path: Path) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    ward.ward("w:2")
    writer = SheetWriter(folder)

    writer(ward.store, NOON)
    first = (folder / "ward-w1.html").read_text("utf-8")
    ward.record("e1", "issued", NOON + timedelta(minutes=1))
    writer(ward.store, NOON + timedelta(minutes=3))

    assert sheets_in(folder) == {
        "ward-w1.html": "12:03:00 GMT on 3 March 2026",
        "ward-w%3A2.html": "12:03:00 GMT on 3 March 2026",
    }
    assert "Requested" in first
    assert "Issued since 12:01" in (folder / "ward-w1.html").read_text("utf-8")


def test_a_disk_that_fails_is_said_once_and_holds_up_neither_tick_nor_other_wards(
    ward: BoardApi, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """In the place of one sheet there is a folder, which no file can take."""
    folder, ticks = tmp_path / "sheets", []
    (folder / "ward-w1.html").mkdir(parents=True)
    ward.ward("w2")

    def run_tick(store: Store, now: datetime) -> None:
        ticks.append(tick(store, now=now))

    jobs = [Job("sheets", FAST, SheetWriter(folder)), Job("tick", FAST, run_tick)]
    with caplog.at_level(logging.WARNING, logger="server.jobs.scheduler"):
        ran(ward, jobs, lambda: len(ticks) > 10 and (folder / "ward-w2.html").is_file())

    assert [record.message for record in caplog.records] == ["job sheets fails"]
    assert sorted(file.name for file in folder.iterdir()) == ["ward-w1.html", "ward-w2.html"]


def test_while_the_database_is_away_the_last_sheet_stays(
    tmp_path: Path, postgres: PostgresServer
) -> None:
    """Over a PostgreSQL that lets nobody in."""
    store = Store(postgres.empty())
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "ward-w1.html").write_text("the last one")

    with closed(postgres, store.address), pytest.raises(Exception, match="connect"):
        SheetWriter(folder)(store, NOON)
    store.close()

    assert (folder / "ward-w1.html").read_text("utf-8") == "the last one"


def test_only_the_process_that_leads_writes(ward: BoardApi, tmp_path: Path) -> None:
    written: dict[str, Path] = {name: tmp_path / name for name in ("leading", "other")}
    stores = {"leading": ward.store, "other": Store(ward.store.address)}
    for folder in written.values():
        folder.mkdir()
    schedulers = [
        Scheduler(stores[name], ward.clock, [Job("sheets", FAST, SheetWriter(written[name]))])
        for name in written
    ]
    for scheduler in schedulers:
        scheduler.start()
        wait_until((written["leading"] / "ward-w1.html").is_file)
    wait_until(lambda: stores["leading"].lead.was_held and not stores["other"].lead.held())
    # The leader last: whoever stops gives the lead to the one that goes on.
    for scheduler in reversed(schedulers):
        scheduler.stop()
    stores["other"].close()

    assert [sorted(sheets_in(written[name])) for name in written] == [["ward-w1.html"], []]


def test_the_setting_asks_for_the_job(tmp_path: Path) -> None:
    assert [one.name for one in jobs_of(Settings())] == [*(one.name for one in JOBS), "invariants"]

    added = jobs_of(Settings(sheets=tmp_path))[len(JOBS) + 1 :]

    assert [(job.name, job.every) for job in added] == [("sheets", timedelta(minutes=3))]
