"""A person changes their own password: whoever knew the old one is out."""

from secrets import token_urlsafe

import pytest
from argon2 import PasswordHasher

from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.errors import Forbidden
from server.services.passwords import SHORTEST_PASSWORD, require_password
from server.services.set_password import set_own_password
from server.services.sign_in import check_password, holder_of_session, sign_in
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import NURSE, PROGRAM
from tests.services.shared_device import PASSWORD, with_password
from tests.services.trail import said

NEW = "kettle orbit lantern moss"


def test_the_new_one_opens_and_all_other_sessions_end(charting: Charting) -> None:
    staff = with_password(charting, NURSE)
    with charting.store.write() as session:
        here, elsewhere = (sign_in(session, staff, now=at(0)) for _ in range(2))
        set_own_password(session, here.actor, NEW, now=at(1))

    with charting.store.read() as session:
        name = staff.sign_in_name or ""
        opened = [check_password(session, name, one) for one in (PASSWORD, NEW)]
        held = [holder_of_session(session, one.secret, now=at(1)) for one in (here, elsewhere)]
    assert [one and one.id for one in opened] == [None, NURSE.id]
    assert [one is not None for one in held] == [True, False]
    assert said(charting.store, "act", "actor_id")[-1] == ("password_set", NURSE.id)
    assert NEW not in repr(charting.everything())


@pytest.mark.parametrize(
    ("actor", "password", "refusal"),
    [(PROGRAM, NEW, Forbidden), (NURSE, "short", Invalid), (NURSE, "password123456", Invalid)],
)
def test_a_program_has_none_and_a_weak_one_is_refused(
    charting: Charting, actor: Actor, password: str, refusal: type[Exception]
) -> None:
    before = charting.everything()

    with pytest.raises(refusal), charting.store.write() as session:
        set_own_password(session, actor, password, now=at(0))

    assert charting.everything() == before


@pytest.mark.parametrize(
    "password", ["кот на крыше спит", "  four words of blanks ", token_urlsafe(300), NEW]
)
def test_any_letters_and_any_length_will_do(password: str) -> None:
    require_password("password", password, "Nina Nurse")

    assert len(password) >= SHORTEST_PASSWORD


def test_a_guess_costs_what_the_standard_recommends(full_hasher: PasswordHasher) -> None:
    # RFC 9106, section 4, the second recommended option, from memory: 64 MiB, three passes.
    assert full_hasher.hash(NEW).startswith("$argon2id$v=19$m=65536,t=3,p=4$")
