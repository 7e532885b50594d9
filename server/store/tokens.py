"""Tokens of programs and people; only their hashes are kept."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import insert, or_, select, update

from server.domain.words import Role
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import columns_for
from server.store.tables import TOKEN


@dataclass(frozen=True, slots=True)
class Token:
    """What a token allows, and when it was used last; `wards` None: all wards.

    `made_by` is an actor's id, None for a token from before that was kept.
    """

    id: str
    name: str
    role: Role
    wards: frozenset[str] | None
    made_at: datetime
    revoked_at: datetime | None = None
    made_by: str | None = None
    used_at: datetime | None = None

    def opens(self, ward_id: str) -> bool:
        """Whether it is for a ward."""
        return self.wards is None or ward_id in self.wards


_TOKENS: Final = select(*columns_for(TOKEN, Token))


def add_token(session: WriteSession, token: Token, token_hash: str) -> None:
    """Keep a new token by the hash of its secret."""
    row = {
        "id": token.id,
        "name": token.name,
        "role": token.role.value,
        "wards": _listed(token.wards),
        "made_at": token.made_at,
        "revoked_at": token.revoked_at,
        "made_by": token.made_by,
        "used_at": token.used_at,
        "hash": token_hash,
    }
    session.run(insert(TOKEN), row)


def token_of_hash(session: ReadSession, token_hash: str) -> Token | None:
    """The token that is not revoked behind a hash, None if there is none."""
    valid = _TOKENS.where(TOKEN.c.hash == token_hash, TOKEN.c.revoked_at.is_(None))
    row = session.row(valid)
    return None if row is None else _token(row)


def read_token(session: ReadSession, token_id: str) -> Token | None:
    """One token, also a revoked one; None if there is none of that id."""
    row = session.row(_TOKENS.where(TOKEN.c.id == token_id))
    return None if row is None else _token(row)


def list_tokens(session: ReadSession) -> tuple[Token, ...]:
    """All tokens, revoked ones too, the newest first."""
    newest_first = _TOKENS.order_by(TOKEN.c.made_at.desc(), TOKEN.c.id)
    return tuple(_token(row) for row in session.rows(newest_first))


def revoke_token(session: WriteSession, token_id: str, at: datetime) -> bool:
    """Have a token open nothing from now on; False if there was none left to revoke."""
    standing = update(TOKEN).where(TOKEN.c.id == token_id, TOKEN.c.revoked_at.is_(None))
    return session.run(standing.values(revoked_at=at)) == 1


def set_token_wards(session: WriteSession, token_id: str, wards: frozenset[str]) -> None:
    """Have a token be for these wards from now on."""
    session.run(update(TOKEN).where(TOKEN.c.id == token_id).values(wards=_listed(wards)))


def note_used(session: WriteSession, token_id: str, at: datetime) -> None:
    """Keep that a token was used; where another process kept a later use, that one stays."""
    older = or_(TOKEN.c.used_at.is_(None), TOKEN.c.used_at < at)
    session.run(update(TOKEN).where(TOKEN.c.id == token_id, older).values(used_at=at))


def _listed(wards: frozenset[str] | None) -> list[str] | None:
    return None if wards is None else sorted(wards)


def _token(row: AnyRow) -> Token:
    wards = None if row.wards is None else frozenset(row.wards)
    times = (row.made_at, row.revoked_at, row.made_by, row.used_at)
    return Token(row.id, row.name, Role(row.role), wards, *times)
