"""The command line: one function a command; what more than one line does stands in `cli_*`."""

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from importlib import import_module
from typing import Final

from server import (
    __version__,
    cli_accounts,
    cli_backup,
    cli_check,
    cli_history,
    cli_move,
    cli_tokens,
)
from server.app import serve
from server.cli_audit import add_options, run_audit
from server.cli_files import show_progress
from server.clock import utc_now
from server.domain.errors import Invalid
from server.domain.policy import PolicyError
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.rebuild import rebuild
from server.services.upgrade_database import upgrade_database
from server.settings import Settings, SettingsError, read_settings
from server.store.errors import Away, Clash
from server.store.store import Store

REFUSALS: Final = (
    Away,
    Clash,
    Conflict,
    Forbidden,
    Invalid,
    NotFound,
    OSError,
    PolicyError,
    SettingsError,
)

Options = argparse.Namespace


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 if all went well, 1 if something did not, 2 for a wrong call.

    `check` answers 3 for what it could not look at.
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    if given[:1] == ["demo"]:
        return _demo(given[1:])
    options = _parser().parse_args(given)
    try:
        act: Callable[[Settings, Options], int] = options.act
        return act(read_settings(os.environ), options)
    except REFUSALS as refusal:
        print(f"fourth-hour {options.command}: {refusal}", file=sys.stderr)
        refused: int = options.refused
        return refused


def _demo(given: list[str]) -> int:
    """The demonstration reads its own options; nothing else has to load it."""
    result: int = import_module("seed_demo.run").main(given, serve)
    return result


def _serve(settings: Settings, options: Options) -> int:
    host, port = options.host or settings.host, settings.port
    if options.port is not None:
        port = options.port
    serve(replace(settings, host=host, port=port))
    return 0


def _migrate(settings: Settings, options: Options) -> int:
    with _opened(settings, migrated=False) as store:
        upgraded = upgrade_database(store, now=utc_now())
        print("brought to the newest schema" if upgraded else "was up to date")
        if options.to is None:
            return 0
        return cli_move.run_move(store, options.to, now=utc_now(), bar=show_progress)


def _token(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_tokens.run_token(store, options, now=utc_now())


def _tokens(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_tokens.run_tokens(store, options, now=utc_now())


def _account(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_accounts.run_account(store, options, now=utc_now())


def _second_factor(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_accounts.run_second_factor(store, options, now=utc_now())


def _import(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_history.run_import(store, options, now=utc_now())


def _export(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_history.run_export(store, options, now=utc_now())


def _backup(settings: Settings, options: Options) -> int:
    with _opened(settings) as store:
        return cli_backup.run_backup(store, options, clock=utc_now, bar=show_progress)


def _restore(settings: Settings, options: Options) -> int:
    with _opened(settings, migrated=False) as store:
        return cli_backup.run_restore(store, options, now=utc_now(), bar=show_progress)


def _rebuild(settings: Settings, _: Options) -> int:
    with _opened(settings) as store:
        rebuilt = rebuild(store, utc_now)
    print(f"{rebuilt.episodes} episodes were worked out, {len(rebuilt.differed)} differed")
    for episode_id in rebuilt.differed:
        print(f"differed  {episode_id}")
    for episode_id in rebuilt.unreadable:
        print(f"unread    {episode_id}: what is recorded of it cannot be read; its rows stay")
    return 1 if rebuilt.unreadable else 0


def _check(settings: Settings, options: Options) -> int:
    """Say what is wrong; settings were read before."""
    return cli_check.run_check(settings, options, clock=utc_now, bar=show_progress)


def _audit(settings: Settings, options: Options) -> int:
    """The end of the audit trail, or whether it is as it was written."""
    with _opened(settings) as store:
        return run_audit(store, options, now=utc_now(), bar=show_progress)


@contextmanager
def _opened(settings: Settings, *, migrated: bool = True) -> Iterator[Store]:
    store = Store(settings.database)
    try:
        if migrated:
            upgrade_database(store, now=utc_now())
        yield store
    finally:
        store.close()


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="fourth-hour", description="A ward's transfusion board.")
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_serving(commands)
    cli_accounts.add_account_options(
        _add(commands, "account", _account, "enter somebody who signs in; asks the password")
    )
    cli_accounts.add_factor_options(
        _add(commands, "second-factor", _second_factor, "let somebody in who lost theirs")
    )
    cli_tokens.add_token_options(_add(commands, "token", _token, "make a token and print it, once"))
    cli_tokens.add_tokens_options(
        _add(commands, "tokens", _tokens, "list the tokens that work, or take one back")
    )
    _add_files(commands)
    cli_move.add_options(
        _add(commands, "migrate", _migrate, "bring the database to the newest schema")
    )
    _add(commands, "rebuild", _rebuild, "work every derived row out anew; say how many differed")
    add_options(_add(commands, "audit", _audit, "print or check the head of the audit trail"))
    cli_check.add_check_options(
        _add(commands, "check", _check, "name what is wrong, from the settings to the last unit")
    )
    return parser


def _add(
    commands: "argparse._SubParsersAction[argparse.ArgumentParser]",
    name: str,
    act: Callable[[Settings, Options], int],
    what: str,
) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(name, help=what, description=what)
    command.set_defaults(act=act, refused=1)
    return command


def _add_serving(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = _add(commands, "serve", _serve, "serve pages and interface, and run the scheduler")
    command.add_argument("--host", help="the address to listen on")
    command.add_argument("--port", type=_port, help="the port to listen on, 0 for any free one")
    commands.add_parser("demo", help="open an invented ward that lives", add_help=False)


def _add_files(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    into = _add(commands, "import", _import, "read history files onto a ward")
    cli_history.add_import_options(into)
    out = _add(commands, "export", _export, "write a ward's history files")
    cli_history.add_export_options(out)
    kept = _add(commands, "backup", _backup, "write all that is stored into a file, meanwhile")
    cli_backup.add_backup_options(kept)
    back = _add(commands, "restore", _restore, "put a backup into an empty database")
    cli_backup.add_restore_options(back)


def _port(text: str) -> int:
    """A port. Raises ValueError, which argparse says in its own words."""
    port = int(text)
    if not 0 <= port <= 65_535:  # noqa: PLR2004 - the last port there is
        raise ValueError(text)
    return port


if __name__ == "__main__":
    sys.exit(main())
