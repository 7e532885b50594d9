"""One of everything on ward `w1`, so that every route of the pages can be asked for it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from httpx2 import Response

from server.domain.cover import Cover
from server.domain.words import Role
from server.pages.visitors import COOKIE, form_token
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.list_deliveries import send_trial
from server.services.note_ward_change import note_ward_change
from server.services.tokens import list_tokens, make_token
from server.services.wall_links import list_wall_links, make_wall_link
from server.store.covers import add_cover
from server.store.identity_checks import add_check
from server.store.plans import add_plan
from server.store.sign_ins import sessions_of
from tests.domain.builders import at
from tests.domain.planning import an_empty_plan
from tests.pages.hospital import Hospital, Visit
from tests.pages.identity_page import with_password
from tests.pages.route_rules import Rule
from tests.pages.test_who_may_see import prepare
from tests.services.people import ADMINISTRATOR, CHARGE, COLLEAGUE, NURSE, W2, staff_draft

CHECK_ID: Final = "{check_id}"
OUTSIDE_MANAGER: Final = Actor("manager-9", "Mira Other", Role.MANAGER, W2, staff_id="manager-9")
OUTSIDE_ADMIN: Final = Actor("admin-9", "Abe Other", Role.ADMINISTRATOR, W2, staff_id="admin-9")


@dataclass(frozen=True, slots=True)
class Stage:
    """The hospital, and the ids of what ward `w1` has."""

    hospital: Hospital
    ids: Mapping[str, str]

    def address(self, route: str, rule: Rule, **other: str) -> str:
        """The address of a route for what is on `w1`, but for the parts given."""
        ids = {**self.ids, **other}
        return re.sub(r"\{(\w+)\}", lambda part: ids[part[1]], route.split(" ")[1]) + rule.query

    def ask(self, browser: tuple[Visit, str], route: str, rule: Rule, **other: str) -> Response:
        """Ask as somebody, with a form that would be taken from whoever may send it."""
        visit, token = browser
        address = self.address(route, rule, **other)
        if route.startswith("GET"):
            return visit.get(address)
        check = self.ids["check_id"]
        typed = {name: check if said == CHECK_ID else said for name, said in rule.typed.items()}
        return visit.post(address, {"csrf_token": token, **typed})

    def browsers(self, *people: Actor) -> dict[str, tuple[Visit, str]]:
        """A browser of each, signed in, with the token of its forms."""
        return {one.id: self.browser(self.hospital.secret_of(one)) for one in people}

    def browser(self, secret: str) -> tuple[Visit, str]:
        """A browser with a session, whatever it is worth, and the token of its forms."""
        visit = self.hospital.visit()
        visit.client.cookies.set(COOKIE, secret)
        return visit, form_token(secret)


def set_stage(hospital: Hospital) -> Stage:
    """A unit, an order, a shift, a plan and all the rest on `w1`; people of `w2` in every role."""
    prepare(hospital)
    with_password(hospital, COLLEAGUE)
    hospital.secret_of(NURSE)
    now, until = hospital.clock.now, hospital.clock.now + timedelta(hours=1)
    with hospital.store.write() as session:
        for person in (OUTSIDE_MANAGER, OUTSIDE_ADMIN):
            draft = replace(staff_draft(person), sign_in_name=person.id)
            enter_staff(session, ADMINISTRATOR, draft, now=at(-600))
        add_cover(session, Cover("c1", "w1", "nurse-2", "charge-1", now, until, now, "charge-1"))
        add_plan(session, an_empty_plan("plan", "w1", now))
        make_wall_link(session, CHARGE, "w1", now=now)
        message = send_trial(session, ADMINISTRATOR, "pager", "w1", now=now)
        change = note_ward_change(session, CHARGE, "w1", date(2026, 3, 2), "a note", now=now)
        check = add_check(session, "e1", "w1", checkers=2, by=NURSE.id, at=now)
        link = list_wall_links(session, CHARGE, "w1")[0]
        make_token(session, "Lab", Role.INTERFACE, ["w1"], now=now)
        token = list_tokens(session, ADMINISTRATOR)[0]
        own = sessions_of(session, NURSE.id, now)[0]
    charge = hospital.visit(CHARGE)
    ids = {
        "ward_id": "w1",
        "episode_id": "e1",
        "patient_id": "p1",
        "staff_id": NURSE.id,
        "cover_id": "c1",
        "check_id": check.id,
        "webhook_id": "pager",
        "message_id": message.id,
        "change_id": change.id,
        "link_id": link.id,
        "token_id": token.id,
        "session_id": own.id,
        "order_id": _linked(charge, "/wards/w1/orders", r"/orders/(\w+)/change"),
        "shift_id": _linked(charge, "/wards/w1/shifts", r"/shifts/(?!new)(\w+)$"),
        "act": "pause",
        "clock": "first_check",
        "n": "1",
        "name": "common",
        "secret": "none",
    }
    return Stage(hospital, ids)


def _linked(browser: Visit, page: str, pattern: str) -> str:
    found = [match[1] for href in browser.see(page).links if (match := re.search(pattern, href))]
    return found[0]
