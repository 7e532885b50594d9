"""Who may come in, at the command line: tokens, and a second factor that was lost."""

import re

from sqlalchemy import select

from server.clock import utc_now
from server.domain.encoding import write_instant
from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.tokens import actor_of_token, list_tokens
from server.store.second_factors import SecondFactor, save_second_factor
from server.store.store import Store
from server.store.tables import TOKEN
from tests.api.commands import Run, run, store

__all__ = ["run", "store"]


def test_a_token_is_printed_alone_and_kept_as_a_hash(run: Run, store: Store) -> None:
    result, printed, said = run("token", "--name", "A", "--role", "bedside_nurse", "--ward", "w1")
    secret = printed.removesuffix("\n")

    with store.read() as session:
        actor = actor_of_token(session, secret)
        kept = str(session.rows(select(TOKEN)))
    assert (result, said, re.fullmatch(r"[\w-]{40,}", secret) is not None) == (0, "", True)
    assert actor is not None
    assert (actor.name, actor.role, actor.wards) == ("A", Role.BEDSIDE_NURSE, frozenset({"w1"}))
    assert secret not in kept


def test_tokens_are_listed_and_taken_back(run: Run, store: Store) -> None:
    for name in ("Lab", "Or\n\tders"):
        run("token", "--name", name, "--role", "interface", "--ward", "w1")
    listed = run("tokens")
    lab = next(line.split("\t") for line in listed[1].splitlines() if line.endswith("\tLab"))

    taken, unknown = run("tokens", "--revoke", lab[0]), run("tokens", "--revoke", "none")

    with store.read() as session:
        made = {token.id: token for token in list_tokens(session, AT_THE_COMMAND_LINE)}
    assert lab[1:] == [
        "interface",
        "w1",
        f"made {write_instant(made[lab[0]].made_at)}",
        "used never",
        "Lab",
    ]
    assert [line.rpartition("\t")[2] for line in taken[1].splitlines()] == ["Or ders"]
    assert made[lab[0]].revoked_at is not None
    assert unknown == (1, "", "fourth-hour tokens: the token was not found\n")


def test_a_lost_second_factor_is_taken_away_at_the_command_line(run: Run, store: Store) -> None:
    ann = StaffDraft("ann", "Ann Lee", Role.ADMINISTRATOR, None, "ann")
    factor = SecondFactor("ann", "JBSWY3DPEHPK3PXP", utc_now(), 1)
    with store.write() as session:
        enter_staff(session, AT_THE_COMMAND_LINE, ann, now=utc_now())
        save_second_factor(session, factor)

    answers = [run("second-factor", "--take-from", name) for name in ("ann", "ann", "nobody")]

    told = "fourth-hour second-factor: the {} was not found\n"
    assert answers == [
        (0, "the second factor is taken away\n", ""),
        (1, "", told.format("second factor")),
        (1, "", told.format("member of staff")),
    ]


def test_a_token_without_a_ward_is_for_all(run: Run, store: Store) -> None:
    secret = run("token", "--name", "I", "--role", "interface")[1].strip()

    with store.read() as session:
        actor = actor_of_token(session, secret)
    assert actor is not None
    assert actor.wards is None


def test_a_token_for_a_ward_that_does_not_exist_is_not_made(run: Run, store: Store) -> None:
    result, printed, said = run("token", "--name", "A", "--role", "manager", "--ward", "w9")

    with store.read() as session:
        kept = session.rows(select(TOKEN))
    assert (result, printed) == (1, "")
    assert said == "fourth-hour token: the ward w9 was not found\n"
    assert list(kept) == []
