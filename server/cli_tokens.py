"""Tokens at the command line: make one, list them, take one back."""

from argparse import ArgumentParser, Namespace
from datetime import datetime

from server.domain.encoding import write_instant
from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.tokens import list_tokens, make_token, revoke_token
from server.store.store import Store
from server.store.tokens import Token


def add_token_options(command: ArgumentParser) -> None:
    """The options of `fourth-hour token`."""
    command.add_argument("--name", required=True, help="whose token it is")
    command.add_argument("--role", required=True, type=Role, choices=list(Role))
    command.add_argument("--ward", action="append", help="a ward it is for; all without one")


def add_tokens_options(command: ArgumentParser) -> None:
    """The options of `fourth-hour tokens`."""
    command.add_argument("--revoke", metavar="ID", help="have this one open nothing from now on")


def run_token(store: Store, options: Namespace, *, now: datetime) -> int:
    """Make a token and print it, alone on its line. Raises `Invalid`, `NotFound`."""
    with store.write() as session:
        secret = make_token(session, options.name, options.role, options.ward, now=now)
    print(secret)
    return 0


def run_tokens(store: Store, options: Namespace, *, now: datetime) -> int:
    """Print every token that works, one a line; first take one back, if asked to.

    Raises `NotFound` for an id that no token has.
    """
    if options.revoke is not None:
        with store.write() as session:
            revoke_token(session, AT_THE_COMMAND_LINE, options.revoke, now=now)
    with store.read() as session:
        tokens = list_tokens(session, AT_THE_COMMAND_LINE)
    for token in tokens:
        if token.revoked_at is None:
            print(token_line(token))
    return 0


def token_line(token: Token) -> str:
    """Answer a token as one line of words parted by tabs: id, role, wards, made, used, name."""
    wards = "all" if token.wards is None else ",".join(sorted(token.wards)) or "none"
    used = "never" if token.used_at is None else write_instant(token.used_at)
    return "\t".join(
        (
            token.id,
            token.role,
            wards,
            f"made {write_instant(token.made_at)}",
            f"used {used}",
            " ".join(token.name.split()),
        )
    )
