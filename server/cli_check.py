"""`fourth-hour check`: everything that has to be so, looked at whole, in words or as JSON."""

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime
from tempfile import NamedTemporaryFile
from typing import Final

from server.cli_audit import audit_in_words
from server.clock import Clock
from server.domain.invariants import SAID, Finding, Invariant, Patience, Standing
from server.domain.policy import PolicyError
from server.domain.unit_check import signed_words
from server.jobs.presence import process_as_it_is, writes_to
from server.policies import load_policies
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.enter_ward import list_wards
from server.services.look_at_invariants import look_at, step_walks
from server.services.say_webhooks import say_webhooks
from server.services.sheet_folder import sheets_in_words
from server.services.sso_check import provider_in_words
from server.services.walking import LogPlace, UnitsPlace, walk_all_units, walk_whole_log
from server.settings import Settings
from server.site import load_site
from server.store.due import faulty_episodes
from server.store.errors import Away
from server.store.invariants import read_kept
from server.store.migrate import is_current
from server.store.store import Store

FINE: Final = 0
BROKEN: Final = 1
NOT_LOOKED_AT: Final = 3
"""The settings are wrong, or the database is away or of another schema: the rest is not known."""

ENGINE: Final = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
MARK: Final = {Standing.HOLDS: "holds ", Standing.IDLE: "idle  ", Standing.BROKEN: "BROKEN"}

Bar = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that was looked at; `key` is its name for programs."""

    key: str
    name: str
    standing: Standing
    found: str
    expected: str = ""
    do: str = ""
    count: int = 0
    subjects: tuple[str, ...] = ()


def add_check_options(command: ArgumentParser) -> None:
    """The options of `fourth-hour check`."""
    command.add_argument(
        "--quick", action="store_true", help="look at a share of the units, as a running board does"
    )
    command.add_argument("--json", action="store_true", help="print one JSON object for programs")
    command.set_defaults(refused=NOT_LOOKED_AT)


def run_check(settings: Settings, options: Namespace, *, clock: Clock, bar: Bar) -> int:
    """Look, print, and answer the exit code; to look at all takes its time. Raises `Away`."""
    lines: list[Line] = []
    for line in _looked_at(settings, clock, bar, quick=options.quick):
        lines.append(line)
        if not options.json:
            _print(line)
    broken = [one for one in lines if one.standing is Standing.BROKEN]
    unknown = any(one.key == "database" for one in broken)
    code = NOT_LOOKED_AT if unknown else BROKEN if broken else FINE
    if options.json:
        print(json.dumps(_told(lines, code), ensure_ascii=False, indent=1))
    else:
        names = ": " + ", ".join(one.name for one in broken) if broken else ""
        print(f"{len(broken)} of {len(lines)} broken{names}")
    return code


def _looked_at(settings: Settings, clock: Clock, bar: Bar, *, quick: bool) -> Iterator[Line]:
    yield from _files(settings)
    with closing(Store(settings.database)) as store:
        database = _database(store)
        yield database
        if database.standing is Standing.BROKEN:
            return
        yield from _folders(settings)
        yield from _of_sheets(settings, store, clock())
        yield from _of_webhooks(store)
        yield from _of_sign_on(settings)
        yield from _of_audit(store, clock())
        yield from _invariants(settings, store, clock, bar, quick=quick)


def _files(settings: Settings) -> Iterator[Line]:
    yield Line("settings", "Settings", Standing.HOLDS, "every variable can be read")
    try:
        names = ", ".join(load_policies(settings.policies))
        yield Line("policies", "Policies", Standing.HOLDS, names)
    except PolicyError as wrong:
        yield _wrong("policies", "Policies", f"{wrong}", "Mend the file at that line.")
    try:
        site = load_site(settings.site)
    except PolicyError as wrong:
        yield _wrong("site", "Site files", f"{wrong}", "Mend the file at that line.")
        return
    yield Line("site", "Site files", Standing.HOLDS, signed_words(site))
    if site.products or site.special_testing:
        words = f"{len(site.products)} products, {len(site.special_testing)} special tests"
        yield Line("codes", "Codes", Standing.HOLDS, words)


def _database(store: Store) -> Line:
    engine = ENGINE[store.engines.reading.dialect.name]
    try:
        current = is_current(store)
    except Away as away:
        do = "Start it, or mend its address."
        why = f"{engine} does not answer: {' '.join(str(away).split())}"
        return _wrong("database", "Database", why, do)
    if not current:
        why = f"{engine} answers, and has another schema than this program"
        do = "Run `fourth-hour migrate` of the newest version."
        return _wrong("database", "Database", why, do)
    words = f"{engine} answers, and has the newest schema"
    return Line("database", "Database", Standing.HOLDS, words)


def _folders(settings: Settings) -> Iterator[Line]:
    for folder in writes_to(settings):
        try:
            with NamedTemporaryFile(dir=folder, prefix=".check-"):
                yield Line("folder", "Folder", Standing.HOLDS, f"{folder} can be written")
        except OSError as failure:
            why = f"{folder} cannot be written: {failure.strerror}"
            yield _wrong("folder", "Folder", why, "Let the program’s user write there.")


def _of_sheets(settings: Settings, store: Store, now: datetime) -> Iterator[Line]:
    if settings.sheets is None:
        return
    with store.read() as session:
        ward_ids = [ward.id for ward in list_wards(session, AT_THE_COMMAND_LINE)]
    words, fresh = sheets_in_words(settings.sheets, ward_ids, now=now)
    if fresh:
        yield Line("sheets", "Paper sheets", Standing.HOLDS, words)
    else:
        yield _wrong("sheets", "Paper sheets", words, SAID[Invariant.SHEETS_FRESH].do)


def _of_webhooks(store: Store) -> Iterator[Line]:
    with store.read() as session:
        for words in say_webhooks(session):
            yield Line("webhook", "Webhook", Standing.HOLDS, words)


def _of_sign_on(settings: Settings) -> Iterator[Line]:
    if settings.sign_on is None:
        return
    words, fine = provider_in_words(settings.sign_on)
    if fine:
        yield Line("sign_on", "Single sign-on", Standing.HOLDS, words)
    else:
        do = "Mend its settings, or ask whoever runs the provider. Passwords open the board."
        yield _wrong("sign_on", "Single sign-on", words, do)


def _of_audit(store: Store, now: datetime) -> Iterator[Line]:
    notes, words, fine = audit_in_words(store, now=now)
    for note in notes:
        yield Line("audit", "Audit trail", Standing.HOLDS, note)
    if fine:
        yield Line("audit", "Audit trail", Standing.HOLDS, words)
    else:
        yield _wrong("audit", "Audit trail", words, SAID[Invariant.AUDIT_WHOLE].do)


def _invariants(
    settings: Settings, store: Store, clock: Clock, bar: Bar, *, quick: bool
) -> Iterator[Line]:
    units, log = _part(store, clock()) if quick else _whole(store, clock, bar)
    me = process_as_it_is(store, settings, clock, started_at=clock())
    with store.read() as session:
        kept = read_kept(session)
        look = look_at(
            session,
            units,
            log,
            now=clock(),
            patience=Patience(settings.stale_after),
            before=kept,
            beside=replace(me, id="check"),
            is_whole=not quick,
        )
        why = dict(faulty_episodes(session))
    for finding in look.findings:
        if finding.invariant is not Invariant.AUDIT_WHOLE:  # looked at whole above
            yield _line(finding, why)


def _whole(store: Store, clock: Clock, bar: Bar) -> tuple[UnitsPlace, LogPlace]:
    units = walk_all_units(store, clock, progress=bar)
    with store.read() as session:
        return units, walk_whole_log(session)


def _part(store: Store, now: datetime) -> tuple[UnitsPlace, LogPlace]:
    with store.read() as session:
        return step_walks(session, read_kept(session), now=now)


def _line(finding: Finding, why: dict[str, str]) -> Line:
    said, found = SAID[finding.invariant], finding.found
    if finding.invariant is Invariant.UNITS_READABLE and finding.is_broken:
        told = [f"{one}: {why[one]}" for one in finding.subjects if one in why]
        found = "; ".join([found, *told])
    if finding.is_broken:
        return Line(
            finding.invariant.value,
            said.name,
            finding.standing,
            found,
            said.expected,
            said.do,
            finding.count,
            finding.subjects,
        )
    return Line(finding.invariant.value, said.name, finding.standing, found)


def _wrong(key: str, name: str, found: str, do: str) -> Line:
    return Line(key, name, Standing.BROKEN, found, do=do, count=1)


def _print(line: Line) -> None:
    print(f"{MARK[line.standing]}  {line.name}: {line.found}", flush=True)
    if line.expected:
        print(f"        expected: {line.expected}")
    if line.do:
        print(f"        to do: {line.do}", flush=True)


def _told(lines: list[Line], code: int) -> dict[str, object]:
    checks = [
        {
            "key": one.key,
            "name": one.name,
            "standing": one.standing.value,
            "found": one.found,
            "expected": one.expected,
            "do": one.do,
            "count": one.count,
            "subjects": list(one.subjects),
        }
        for one in lines
    ]
    return {"exit_code": code, "checks": checks}
