"""History files at the command line: read onto a ward, and written from one."""

from argparse import ArgumentParser, Namespace
from datetime import datetime
from pathlib import Path

from server.cli_files import count_lines, show_progress, text_of, write_lines
from server.exchange.history_files import read_episodes, read_observations
from server.exchange.write_history import write_episodes, write_observations
from server.services.actor import AT_THE_COMMAND_LINE, SYSTEM
from server.services.export_history import export_episodes, export_observations, note_export
from server.services.history import ImportReport
from server.services.import_history import import_history
from server.services.unreadable import noticed, noticing
from server.store.store import Store


def add_import_options(command: ArgumentParser) -> None:
    """What may be asked of reading."""
    command.add_argument("--ward", required=True, help="the ward's id")
    command.add_argument("episodes", type=Path, help="episodes.csv")
    command.add_argument("observations", type=Path, nargs="?", help="observations.csv")


def add_export_options(command: ArgumentParser) -> None:
    """What may be asked of writing."""
    command.add_argument("--ward", required=True, help="the ward's id")
    command.add_argument("episodes", type=Path, help="where to write episodes.csv")
    command.add_argument("observations", type=Path, help="where to write observations.csv")


def run_import(store: Store, options: Namespace, *, now: datetime) -> int:
    """Read history files, and say what became of each line; 1 if any was refused."""
    totals = {
        "episodes": count_lines(options.episodes),
        "observations": count_lines(options.observations),
    }
    report = import_history(
        store,
        SYSTEM,
        options.ward,
        read_episodes(text_of(options.episodes)),
        read_observations(text_of(options.observations)) if options.observations else (),
        now=now,
        progress=lambda file, done: show_progress(file, done, totals[file]),
    )
    _report(report)
    return 1 if report.refused else 0


def _report(report: ImportReport) -> None:
    print(
        f"{report.episodes} episodes and {report.observations} observations were stored, "
        f"{report.already} lines were there already, {len(report.refused)} were refused"
    )
    for remark in report.refused:
        print(f"refused   {remark.file} line {remark.line}: {remark.text}")
    for remark in report.doubtful:
        print(f"doubtful  {remark.file} line {remark.line}: {remark.text}")


def run_export(store: Store, options: Namespace, *, now: datetime) -> int:
    """Write a ward's history files, and note in the audit trail that they were; 1 if any is left.

    What is left out are units whose facts cannot be read.
    """
    with store.write() as session:
        note_export(session, AT_THE_COMMAND_LINE, options.ward, now=now)
    with store.read() as session, noticing():
        episodes = export_episodes(session, SYSTEM, options.ward, now=now)
        count = write_lines(options.episodes, write_episodes(episodes))
        observations = export_observations(session, SYSTEM, options.ward, now=now)
        sets = write_lines(options.observations, write_observations(observations))
        left_out = noticed()
    print(f"{count} episodes and {sets} observations were written")
    for unit in left_out:
        print(f"left out  {unit.id}: what is recorded of it cannot be read")
    return 1 if left_out else 0
