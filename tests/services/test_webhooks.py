"""Who sets webhooks up and sees them, and what is refused."""

from dataclasses import replace

import pytest

from server.domain.errors import Invalid
from server.domain.words import Role, Stage
from server.services.actor import Actor
from server.services.enter_webhook import (
    WebhookDraft,
    is_entered,
    list_webhooks,
    may_change,
    read_webhook,
)
from server.services.errors import Forbidden, NotFound
from server.services.list_deliveries import send_again, send_trial
from server.services.tend_webhook import (
    pause_webhook,
    remove_webhook,
    resume_webhook,
    rotate_secret,
)
from server.store.store import Store
from server.store.webhooks import Webhook
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import (
    FAILED,
    PAGER,
    TAKEN,
    answered,
    enter,
    outbox,
    pager,
    stored,
)
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    PROGRAM,
    W1,
    W2,
)

LOCAL = Actor("admin-1", "Ada of One", Role.ADMINISTRATOR, W1)
ELSEWHERE = Actor("admin-2", "Ada of Two", Role.ADMINISTRATOR, W2)
BOTH = W1 | W2
EVERYWHERE = pager(id="all", name="All", wards=None)


def _seen(store: Store, actor: Actor, ward_id: str = "w1") -> list[str]:
    with store.read() as session:
        return [one.id for one in list_webhooks(session, actor, ward_id)]


@ON_BOTH_ENGINES
def test_a_webhook_is_entered_changed_and_listed_on_its_wards(store: Store) -> None:
    made = enter(store, pager(name=" Pagers "))
    enter(store, EVERYWHERE)
    changed = enter(store, pager(stages=frozenset({Stage.OVERDUE}), wards=BOTH), when=5)

    with store.read() as session:
        entered = [is_entered(session, one) for one in ("pager", "other", None)]
    assert entered == [True, False, False]
    assert made == Webhook(
        "pager", "Pagers", PAGER.address, frozenset(Stage), W1, made.secret, at(0), "admin"
    )
    assert changed == replace(made, stages=frozenset({Stage.OVERDUE}), wards=BOTH)
    assert stored(store) == changed
    assert [_seen(store, ADMINISTRATOR, ward) for ward in ("w1", "w2")] == [["all", "pager"]] * 2
    assert made.secret.startswith("whsec_")
    assert stored(store, "all").secret != made.secret


def test_an_id_is_made_where_none_is_given(store: Store) -> None:
    made = enter(store, pager(id=None))

    assert stored(store, made.id) == made


def test_another_address_begins_anew(charting: Charting) -> None:
    store = charting.store
    enter(store)
    with store.write() as session:
        send_trial(session, ADMINISTRATOR, "pager", "w1", now=at(0))
    answered(store, 0, replace(FAILED, status=410))
    off = stored(store)

    same = enter(store, pager(name="Bleeps"))
    other = enter(store, pager(address="https://pager.example/other"))

    assert (off.off_at, same.off_at, other.off_at) == (at(0), at(0), None)


@pytest.mark.parametrize(
    ("draft", "why"),
    [
        (pager(name=" "), "name: is empty"),
        (pager(address="http://pager.example/in"), "address: is not encrypted"),
        (pager(stages=frozenset()), "stages: none was chosen"),
        (pager(wards=frozenset()), "wards: none was chosen"),
        (pager(wards=frozenset({"w1", "w7"})), "wards: there is no ward w7"),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_a_wrong_webhook_is_refused_and_nothing_stored(
    charting: Charting, draft: WebhookDraft, why: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid, match=why):
        enter(charting.store, draft)

    assert charting.everything() == before


@pytest.mark.parametrize(
    ("actor", "draft"),
    [
        *((actor, PAGER) for actor in (NURSE, CHARGE, MANAGER, PROGRAM, ELSEWHERE)),
        (LOCAL, EVERYWHERE),
        (LOCAL, pager(wards=BOTH)),
    ],
    ids=lambda one: one.id,
)
def test_who_does_not_set_up_all_its_wards_neither_enters_nor_changes_one(
    charting: Charting, actor: Actor, draft: WebhookDraft
) -> None:
    store = charting.store
    with pytest.raises(Forbidden):
        enter(store, draft, actor=actor)
    theirs = enter(store, draft)
    with store.write() as session:
        trial = send_trial(session, ADMINISTRATOR, theirs.id, "w1", now=at(0))
    answered(store, 0, TAKEN)
    before = charting.everything()

    for act in (pause_webhook, resume_webhook, rotate_secret, remove_webhook):
        with pytest.raises(Forbidden), store.write() as session:
            act(session, actor, theirs.id, now=at(1))
    with pytest.raises(Forbidden), store.write() as session:
        send_trial(session, actor, theirs.id, "w1", now=at(1))
    with pytest.raises(Forbidden), store.write() as session:
        send_again(session, actor, theirs.id, trial.id, now=at(1))
    with pytest.raises(Forbidden):
        enter(store, replace(draft, wards=actor.wards), actor=actor)

    assert charting.everything() == before
    assert not may_change(actor, theirs)


def test_a_local_administrator_sets_up_the_webhooks_of_their_ward(store: Store) -> None:
    made = enter(store, PAGER, actor=LOCAL)

    assert (made.made_by, may_change(LOCAL, made)) == ("admin-1", True)
    with pytest.raises(Forbidden), store.write() as session:
        send_trial(session, LOCAL, "pager", "w2", now=at(0))


def test_a_charge_nurse_sees_the_webhooks_of_the_ward_and_changes_none(charting: Charting) -> None:
    store = charting.store
    for draft in (PAGER, EVERYWHERE, pager(id="far", name="Far", wards=W2)):
        enter(store, draft)
    for webhook_id, ward in (("all", "w1"), ("all", "w2"), ("pager", "w1")):
        with store.write() as session:
            send_trial(session, ADMINISTRATOR, webhook_id, ward, now=at(0))

    assert (_seen(store, CHARGE), _seen(store, OUTSIDE_CHARGE, "w2")) == (
        ["all", "pager"],
        ["all", "far"],
    )
    wards = [
        one.delivery.ward_id for one in outbox(store, 1, actor=CHARGE, webhook_id="all").letters
    ]
    assert wards == ["w1"]
    for actor in (NURSE, MANAGER, PROGRAM, OUTSIDE_CHARGE):
        with pytest.raises(Forbidden):
            _seen(store, actor)
        with pytest.raises(Forbidden):
            outbox(store, 1, actor=actor)


def test_what_is_not_there_is_not_found(store: Store) -> None:
    enter(store)
    enter(store, EVERYWHERE)
    with store.write() as session:
        other = send_trial(session, ADMINISTRATOR, "all", "w1", now=at(0))
    for message_id in ("never", other.id):
        with pytest.raises(NotFound, match="the message"), store.write() as session:
            send_again(session, ADMINISTRATOR, "pager", message_id, now=at(1))
    with store.write() as session:
        remove_webhook(session, ADMINISTRATOR, "pager", now=at(1))

    for webhook_id in ("pager", "never"):
        with pytest.raises(NotFound, match="the webhook"), store.read() as session:
            read_webhook(session, ADMINISTRATOR, webhook_id)
    with pytest.raises(NotFound, match="the ward"):
        _seen(store, ADMINISTRATOR, "w7")
