"""Tokens: what another program, or a person at a command line, shows instead of a password."""

from collections.abc import Iterable
from datetime import datetime

from server.domain import limits
from server.domain.audit import AuditAct, Plain, Subject, SubjectKind
from server.domain.payloads.values import require_text
from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE, Actor
from server.services.audit import note
from server.services.enter_staff import require_own_wards
from server.services.errors import NotFound
from server.services.passwords import hash_secret, new_secret
from server.services.permissions import Act, require
from server.store import tokens as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.tokens import Token
from server.store.wards import read_ward


def make_token(
    session: WriteSession,
    name: str,
    role: Role,
    wards: Iterable[str] | None,
    *,
    by: Actor = AT_THE_COMMAND_LINE,
    now: datetime,
) -> str:
    """Make a token and answer its secret, which is kept nowhere. `wards` None: all wards.

    Raises `Forbidden`, also where not all of the wards are the maker's; `Invalid` for an empty
    name, `NotFound` for an unknown ward.
    """
    listed = None if wards is None else frozenset(wards)
    require(by, Act.TOKENS)
    require_own_wards(by, listed)
    require_text("name", name, limits.SHORT_TEXT)
    for ward_id in sorted(listed or ()):
        if read_ward(session, ward_id) is None:
            raise NotFound(f"the ward {ward_id}")
    secret = new_secret()
    token = Token(new_id(), name.strip(), role, listed, now, made_by=by.id)
    stored.add_token(session, token, hash_secret(secret))
    _note(session, by, AuditAct.TOKEN_MADE, token, now)
    return secret


def list_tokens(session: ReadSession, actor: Actor) -> tuple[Token, ...]:
    """Answer the tokens that are for one of the actor's wards, revoked ones too, newest first.

    Raises `Forbidden`.
    """
    require(actor, Act.TOKENS)
    return tuple(one for one in stored.list_tokens(session) if _concerns(actor, one))


def token_to_revoke(session: ReadSession, actor: Actor, token_id: str) -> Token:
    """Answer a token that the actor may take back.

    Raises `NotFound` for one that is not in their list; `Forbidden` where not all of its wards
    are theirs.
    """
    require(actor, Act.TOKENS)
    token = stored.read_token(session, token_id)
    if token is None or not _concerns(actor, token):
        raise NotFound("the token")
    require_own_wards(actor, token.wards)
    return token


def revoke_token(session: WriteSession, actor: Actor, token_id: str, *, now: datetime) -> None:
    """Have a token open nothing from now on; a second time changes nothing.

    Raises what `token_to_revoke` raises.
    """
    token = token_to_revoke(session, actor, token_id)
    if stored.revoke_token(session, token_id, now):
        _note(session, actor, AuditAct.TOKEN_REVOKED, token, now)


def actor_of_token(session: ReadSession, secret: str) -> Actor | None:
    """Answer who shows a token, None if it opens nothing."""
    token = stored.token_of_hash(session, hash_secret(secret))
    if token is None:
        return None
    return Actor(token.id, token.name, token.role, token.wards, access_id=token.id)


def _concerns(actor: Actor, token: Token) -> bool:
    return actor.wards is None or any(map(token.opens, actor.wards))


def _note(session: WriteSession, actor: Actor, act: AuditAct, token: Token, now: datetime) -> None:
    wards = None if token.wards is None else sorted(token.wards)
    detail: dict[str, Plain] = {"name": token.name, "role": token.role.value, "wards": wards}
    note(session, actor, act, Subject(SubjectKind.TOKEN, token.id), now=now, detail=detail)
