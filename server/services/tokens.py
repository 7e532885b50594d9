"""Tokens: what another program, or a person at a command line, shows instead of a password."""

from collections.abc import Iterable
from datetime import datetime

from server.domain import limits
from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.payloads.values import require_text
from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE, Actor
from server.services.audit import note
from server.services.errors import NotFound
from server.services.passwords import hash_secret, new_secret
from server.store import tokens as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.wards import read_ward


def make_token(
    session: WriteSession, name: str, role: Role, wards: Iterable[str] | None, *, now: datetime
) -> str:
    """Make a token and answer its secret, which is kept nowhere. `wards` None: all wards.

    Whoever runs the command line may; there is no page for it.

    Raises `Invalid` for an empty name, `NotFound` for an unknown ward.
    """
    require_text("name", name, limits.SHORT_TEXT)
    listed = None if wards is None else frozenset(wards)
    for ward_id in sorted(listed or ()):
        if read_ward(session, ward_id) is None:
            raise NotFound(f"the ward {ward_id}")
    secret = new_secret()
    token = stored.Token(new_id(), name, role, listed, now)
    stored.add_token(session, token, hash_secret(secret))
    subject = Subject(SubjectKind.TOKEN, token.id)
    detail = {"role": role.value, "wards": None if listed is None else sorted(listed)}
    note(session, AT_THE_COMMAND_LINE, AuditAct.TOKEN_MADE, subject, now=now, detail=detail)
    return secret


def actor_of_token(session: ReadSession, secret: str) -> Actor | None:
    """Answer who shows a token, None if it opens nothing."""
    token = stored.token_of_hash(session, hash_secret(secret))
    if token is None:
        return None
    return Actor(token.id, token.name, token.role, token.wards, access_id=token.id)
