"""Tokens of programs and people; only their hashes are kept."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import insert, select, update

from server.domain.words import Role
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import columns_for
from server.store.tables import TOKEN


@dataclass(frozen=True, slots=True)
class Token:
    """What a token allows; `wards` None: all wards."""

    id: str
    name: str
    role: Role
    wards: frozenset[str] | None
    made_at: datetime
    revoked_at: datetime | None = None


_TOKENS: Final = select(*columns_for(TOKEN, Token))


def add_token(session: WriteSession, token: Token, token_hash: str) -> None:
    """Keep a new token by the hash of its secret."""
    row = {
        "id": token.id,
        "name": token.name,
        "role": token.role.value,
        "wards": None if token.wards is None else sorted(token.wards),
        "made_at": token.made_at,
        "revoked_at": token.revoked_at,
        "hash": token_hash,
    }
    session.run(insert(TOKEN), row)


def token_of_hash(session: ReadSession, token_hash: str) -> Token | None:
    """The token that is not revoked behind a hash, None if there is none."""
    valid = _TOKENS.where(TOKEN.c.hash == token_hash, TOKEN.c.revoked_at.is_(None))
    row = session.row(valid)
    return None if row is None else _token(row)


def list_tokens(session: ReadSession) -> tuple[Token, ...]:
    """All tokens, revoked ones too, the newest first."""
    newest_first = _TOKENS.order_by(TOKEN.c.made_at.desc(), TOKEN.c.id)
    return tuple(_token(row) for row in session.rows(newest_first))


def revoke_token(session: WriteSession, token_id: str, at: datetime) -> bool:
    """Have a token open nothing from now on; False if there was none left to revoke."""
    standing = update(TOKEN).where(TOKEN.c.id == token_id, TOKEN.c.revoked_at.is_(None))
    return session.run(standing.values(revoked_at=at)) == 1


def _token(row: AnyRow) -> Token:
    wards = None if row.wards is None else frozenset(row.wards)
    return Token(row.id, row.name, Role(row.role), wards, row.made_at, row.revoked_at)
