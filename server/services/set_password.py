"""The password of a member of staff, changed by themselves."""

from datetime import datetime

from server.domain.audit import AuditAct
from server.services.actor import Actor
from server.services.audit import note
from server.services.errors import Forbidden
from server.services.passwords import hash_password, require_password
from server.store.sessions import WriteSession
from server.store.sign_ins import close_sessions_of
from server.store.staff import set_password_hash


def set_own_password(session: WriteSession, actor: Actor, password: str, *, now: datetime) -> None:
    """Change one's own password. The caller has asked for the present one just now.

    All other sessions end: whoever knew the old one is out. Raises `Forbidden` for a program,
    `Invalid("new_password", …)` for one that is short or soon guessed.
    """
    if actor.staff_id is None:
        raise Forbidden("a program has no password")
    require_password("new_password", password, actor.name)
    set_password_hash(session, actor.staff_id, hash_password(password))
    close_sessions_of(session, actor.staff_id, but=actor.access_id or "")
    note(session, actor, AuditAct.PASSWORD_SET, now=now)
