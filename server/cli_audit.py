"""What the command line says of the audit trail: its head, and whether the chain is whole."""

import re
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from datetime import datetime
from typing import Final

from server.domain.audit_chain import BEGINNING, Break, Head
from server.domain.encoding import write_instant
from server.domain.errors import Invalid
from server.services.check_audit import (
    give_head,
    late_looks,
    require_writable,
    verify,
    verify_since_note,
)
from server.store.audit import audit_head
from server.store.store import Store

Bar = Callable[[str, int, int], None]

EVERY: Final = 1_000
HASH: Final = re.compile("[0-9a-fA-F]{64}")


def add_options(command: ArgumentParser) -> None:
    """The options of `fourth-hour audit`."""
    command.add_argument("--verify", action="store_true", help="check the chain row by row")
    command.add_argument("--from", dest="since", type=int, help="a place that was noted before")
    command.add_argument(
        "--head",
        nargs="?",
        const="",
        metavar="HASH",
        help="alone: print place and hash of the last row; with --verify and --from: the hash "
        "that was noted",
    )


def run_audit(store: Store, options: Namespace, *, now: datetime, bar: Bar) -> int:
    """Print the head, or check the chain. Raises `Invalid` for options that ask for neither."""
    if options.verify:
        return verify_chain(store, head_asked(options.since, options.head), bar)
    if options.head != "" or options.since is not None:
        raise Invalid("head", "expected --head alone, or --verify [--from POSITION --head HASH]")
    return print_head(store, now=now)


def print_head(store: Store, *, now: datetime) -> int:
    """Print the head as `POSITION HASH`, to be noted elsewhere; 1 if the chain is broken."""
    verdict = give_head(store, now=now)
    if verdict.broken is not None:
        return _say_broken(verdict.broken, verdict.head)
    print(f"{verdict.head.position} {verdict.head.hash}")
    return 0


def verify_chain(store: Store, since: Head, bar: Bar) -> int:
    """Check the chain from a head that was noted; 1 if it is broken."""
    with store.read() as session:
        total = audit_head(session).position - since.position

        def progress(position: int) -> None:
            done = position - since.position
            if done % EVERY == 0 or done == total:
                bar("audit", done, total)

        verdict = verify(session, since, progress)
    if verdict.broken is not None:
        return _say_broken(verdict.broken, verdict.head)
    print(f"the chain is whole up to row {verdict.head.position}, {_rows(verdict.rows)} checked")
    return 0


def head_asked(position: int | None, hash_asked: str | None) -> Head:
    """The head that the options name, the beginning without one. Raises `Invalid`."""
    if position is None and hash_asked is None:
        return BEGINNING
    if position is None or position < 1:
        raise Invalid("from", "expected the place of a row, 1 or more, together with its --head")
    if not HASH.fullmatch(hash_asked or ""):
        raise Invalid("head", "expected the 64 hexadecimal characters that were noted")
    return Head(position, str(hash_asked).lower())


def audit_in_words(store: Store, *, now: datetime) -> tuple[tuple[str, ...], str, bool]:
    """Whether the trail is whole since the head that was noted last, and can be written.

    Answers what is to be known besides, the words, and whether it is as it should be.
    """
    with store.read() as session:
        verdict, noted = verify_since_note(session)
        late = late_looks(session, BEGINNING if noted is None else noted.head)
    since = "the beginning" if noted is None else f"row {noted.head.position}"
    when = "" if noted is None else f", noted {write_instant(noted.noted_at)}"
    notes = tuple(f"looks were noted late: row {link.position}, {link.detail}" for link in late)
    if verdict.broken is not None:
        return notes, f"the chain is broken since {since}{when}: {verdict.broken.words}", False
    try:
        require_writable(store, now=now)
    except Exception as failure:  # noqa: BLE001 - whatever it is, it is what has to be said
        return notes, f"it cannot be written: {failure}", False
    checked = _rows(verdict.rows)
    return notes, f"the chain is whole since {since}{when}, {checked} checked", True


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _say_broken(broken: Break, head: Head) -> int:
    print(f"the chain is broken: {broken.words}", file=sys.stderr)
    print(f"the last row that is as it was written: {head.position}", file=sys.stderr)
    return 1
