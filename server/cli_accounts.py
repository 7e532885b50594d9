"""Accounts at the command line: the first one, and the way back in for who lost a second factor."""

import sys
from argparse import ArgumentParser, Namespace
from datetime import datetime
from getpass import getpass

from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.errors import NotFound
from server.services.second_factor import take_second_factor_away
from server.store.staff import staff_named
from server.store.store import Store


def add_account_options(command: ArgumentParser) -> None:
    """The options of `fourth-hour account`."""
    command.add_argument("--name", required=True, help="the person's name")
    command.add_argument("--sign-in-name", required=True, help="the name to sign in with")
    people = [role for role in Role if role is not Role.INTERFACE]
    command.add_argument("--role", required=True, type=Role, choices=people)
    command.add_argument("--ward", action="append", help="a ward of theirs; all without one")


def add_factor_options(command: ArgumentParser) -> None:
    """The options of `fourth-hour second-factor`."""
    command.add_argument("--take-from", required=True, metavar="NAME", help="who signs in as NAME")


def run_account(store: Store, options: Namespace, *, now: datetime) -> int:
    """The first account, or another: somebody has to be able to sign in before a page can help.

    Prints its id. Raises `Invalid`, `Conflict`.
    """
    wards = frozenset(options.ward) if options.ward else None
    draft = StaffDraft(
        None, options.name, options.role, wards, options.sign_in_name, _asked_password()
    )
    with store.write() as session:
        staff = enter_staff(session, AT_THE_COMMAND_LINE, draft, now=now)
    print(staff.id)
    return 0


def run_second_factor(store: Store, options: Namespace, *, now: datetime) -> int:
    """Take the second factor of somebody away whom no administrator can help. Raises `NotFound`."""
    with store.write() as session:
        named = staff_named(session, options.take_from)
        if named is None:
            raise NotFound("the member of staff")
        take_second_factor_away(session, AT_THE_COMMAND_LINE, named[0].id, now=now)
    print("the second factor is taken away")
    return 0


def _asked_password() -> str:
    """Typed unseen at a terminal; one line of the input otherwise."""
    return getpass("Password: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
