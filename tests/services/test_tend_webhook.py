"""What is done to a webhook: paused, its secret exchanged, removed, sent a message again."""

from dataclasses import replace

import pytest

from server.domain.audit import AuditAct
from server.services.actor import Actor
from server.services.enter_webhook import (
    list_webhooks,
)
from server.services.errors import Conflict
from server.services.list_deliveries import send_again, send_trial
from server.services.say_webhooks import say_webhooks
from server.services.tend_webhook import (
    pause_webhook,
    remove_webhook,
    resume_webhook,
    rotate_secret,
)
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import (
    FAILED,
    TAKEN,
    answered,
    enter,
    pager,
    states,
    stored,
    take,
)
from tests.services.people import (
    ADMINISTRATOR,
)


def _seen(store: Store, actor: Actor, ward_id: str = "w1") -> list[str]:
    with store.read() as session:
        return [one.id for one in list_webhooks(session, actor, ward_id)]


def _acts(charting: Charting) -> list[tuple[str, str]]:
    rows = charting.everything()["audit"]
    noted = [(row[0], str(row[6]), str(row[11])) for row in rows if "webhook" in str(row[6])]
    return [(act, detail) for _, act, detail in sorted(noted)]


@ON_BOTH_ENGINES
def test_a_pause_holds_messages_back_and_going_on_sends_them(charting: Charting) -> None:
    store = charting.store
    enter(store)
    for _ in range(2):
        with store.write() as session:
            pause_webhook(session, ADMINISTRATOR, "pager", now=at(0))
    charting.open()
    charting.issue()
    charting.tick(20)

    paused = (stored(store).paused_at, take(store, 20))
    with pytest.raises(Conflict), store.write() as session:
        send_trial(session, ADMINISTRATOR, "pager", "w1", now=at(20))
    for _ in range(2):
        with store.write() as session:
            resume_webhook(session, ADMINISTRATOR, "pager", now=at(21))

    assert paused == (at(0), ())
    assert len(answered(store, 21, TAKEN, TAKEN)) == 2
    assert [act for act, _ in _acts(charting)] == [
        AuditAct.WEBHOOK_MADE,
        AuditAct.WEBHOOK_CHANGED,
        AuditAct.WEBHOOK_CHANGED,
    ]


def test_two_secrets_sign_for_a_day_after_one_was_exchanged(charting: Charting) -> None:
    first = enter(charting.store).secret

    with charting.store.write() as session:
        second = rotate_secret(session, ADMINISTRATOR, "pager", now=at(0))

    turned = stored(charting.store)
    assert first != second
    assert [turned.secrets_at(at(minute)) for minute in (0, 24 * 60 - 1, 24 * 60)] == [
        (second, first),
        (second, first),
        (second,),
    ]
    audit = repr(charting.everything()["audit"])
    assert (first in audit, second in audit) == (False, False)


@ON_BOTH_ENGINES
def test_a_removed_webhook_takes_its_messages_and_secrets_with_it(charting: Charting) -> None:
    store = charting.store
    secret = enter(store).secret
    with store.write() as session:
        send_trial(session, ADMINISTRATOR, "pager", "w1", now=at(0))
        rotate_secret(session, ADMINISTRATOR, "pager", now=at(0))
        remove_webhook(session, ADMINISTRATOR, "pager", now=at(1))

    assert (take(store, 1), _seen(store, ADMINISTRATOR)) == ((), [])
    rows = charting.everything()
    assert "dropped" in repr(rows["delivery"])
    assert secret not in repr(rows["webhook"])
    assert _acts(charting)[-1][0] == AuditAct.WEBHOOK_REVOKED


def test_a_message_is_sent_again_under_the_identity_it_had(charting: Charting) -> None:
    store = charting.store
    enter(store)
    with store.write() as session:
        trial = send_trial(session, ADMINISTRATOR, "pager", "w1", now=at(0))
    with pytest.raises(Conflict, match="it waits to be sent"), store.write() as session:
        send_again(session, ADMINISTRATOR, "pager", trial.id, now=at(0))
    answered(store, 0, TAKEN)

    with store.write() as session:
        again = send_again(session, ADMINISTRATOR, "pager", trial.id, now=at(600))

    assert (again.id, again.stale_at, again.next_at) == (trial.id, at(630), at(600))
    assert answered(store, 600, TAKEN) == [trial.id]
    assert states(store, 600) == [("delivered", 2, "HTTP 204")]


def test_it_is_said_in_a_line_how_each_stands(store: Store) -> None:
    with store.read() as session:
        none = say_webhooks(session)
    for name in ("On", "Paused", "Off"):
        enter(store, pager(id=name, name=name))
    with store.write() as session:
        pause_webhook(session, ADMINISTRATOR, "Paused", now=at(1))
        send_trial(session, ADMINISTRATOR, "Off", "w1", now=at(1))
    answered(store, 1, replace(FAILED, status=410))

    with store.read() as session:
        assert (none, say_webhooks(session)) == (
            (),
            (
                f"Off: OFF since 2026-03-03T10:01:00Z, {stored(store, 'Off').off_why}",
                "On: on",
                "Paused: paused since 2026-03-03T10:01:00Z",
            ),
        )
