"""The rule of every route of the pages: who may ask it, and what somebody of another ward is told.

`tests/architecture/test_route_rules.py` fails for a route without one. A rule is one of five:

- `Ward`: of one ward. Strangers get 403; what does not exist gets 404. That something exists is no
  secret between people who are signed in: ids are random, or another program's own.
- `Own`: answers everybody with what is theirs. An id of somebody else's is answered as one that
  does not exist: 404.
- `Anybody`: the same for all who are signed in; holds nothing of a patient or a ward.
- `Secret`: by a secret in the address, without signing in. A wrong one is as one that never was.
- `Open`: before anybody has signed in, or about that alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from server.domain.words import Role
from tests.pages.hospital import PASSWORD

NURSE, CHARGE = Role.BEDSIDE_NURSE, Role.CHARGE_NURSE
MANAGER, ADMIN = Role.MANAGER, Role.ADMINISTRATOR
EVERY_ROLE: Final = frozenset({NURSE, CHARGE, MANAGER, ADMIN})
NURSES: Final = frozenset({NURSE, CHARGE})
IN_CHARGE: Final = frozenset({CHARGE})
SET_UP: Final = frozenset({ADMIN})
PLANNERS: Final = frozenset({CHARGE, ADMIN})
REVIEWERS: Final = frozenset({CHARGE, MANAGER})
EXPORTERS: Final = frozenset({CHARGE, MANAGER, ADMIN})
AUDITORS: Final = frozenset({MANAGER, ADMIN})


@dataclass(frozen=True, slots=True)
class Rule:
    """Which roles may ask; `typed` is a form that would be taken, `query` what an address needs."""

    roles: frozenset[Role] = EVERY_ROLE
    typed: Mapping[str, Any] = field(default_factory=dict)
    query: str = ""


class Ward(Rule):
    """Of one ward."""


class Own(Rule):
    """One's own."""


class Anybody(Rule):
    """The same for all."""


class Secret(Rule):
    """By its secret."""


class Open(Rule):
    """Before anybody has signed in."""


AT: Final = {"happened_at_time": "10:40", "happened_at_date": "2026-03-03"}
NOTE: Final = {"kind": "note", "text": "seen", **AT}
SUSPECTED: Final = {"kind": "reaction_suspected"}
CAUSE: Final = {"kind": "cause_given", "clock": "first_check:1", "cause": "other", "text": "lift"}
CHECK: Final = {"check": "{check_id}", "scan": "T000001"}
SECOND: Final = {"check": "{check_id}", "sign_in_name": "nurse-2", "password": PASSWORD}
HAS_IT: Final = {"episode_id": "e1", "clock": "first_check"}
ORDER: Final = {
    "patient_id": "p1",
    "bed": "4",
    "component": "plasma",
    "units": "1",
    "priority": "routine",
}
PATIENT: Final = {"record_number": "T77", "family_name": "Oak", "given_name": "Ole"}
PERSON: Final = {"name": "Nell New", "role": "bedside_nurse", "wards": ["w1"]}
SHIFT: Final = {
    "staff_id": "nurse-2",
    "starts_at_date": "2026-03-03",
    "starts_at_time": "07:30",
    "ends_at_time": "19:30",
}
SETTINGS: Final = {
    "name": "Ward 1",
    "policy": "common",
    "timezone": "Europe/London",
    "temperature_unit": "celsius",
}
COVERED: Final = {"covered_id": "nurse-2", "covering_id": "charge-1", "until_at_time": "11:30"}
HOOK: Final = {
    "name": "Bells",
    "address": "https://bells.example/in",
    "stages": ["overdue"],
    "wards": ["w1"],
}
CHANGED: Final = {"day": "2026-03-02", "text": "new porter round"}
PLAN: Final = {"version": "plan"}
TOKEN: Final = {"name": "Lab", "role": "interface", "wards": ["w1"]}

_W: Final = "/wards/{ward_id}"
_E: Final = "/episodes/{episode_id}"
_HOOKS: Final = f"{_W}/webhooks"
_HOOK: Final = f"{_HOOKS}/{{webhook_id}}"
_BADGE: Final = f"{_W}/staff/{{staff_id}}/badge"
_ACCOUNT: Final = f"{_W}/staff/{{staff_id}}/account"
_PLAN: Final = f"{_W}/plan"

RULES: Final[Mapping[str, Rule]] = {
    # the board, and what stands on walls
    "GET /": Own(),
    "GET /board": Own(),
    f"GET {_W}/board": Ward(),
    f"GET {_W}/board/rows": Ward(),
    f"GET {_W}/board/stream": Ward(),
    f"GET {_W}/changes": Ward(),
    "GET /wall/{secret}": Secret(),
    "GET /wall/{secret}/rows": Secret(),
    "GET /wall/{secret}/stream": Secret(),
    f"GET {_W}/wall-links": Ward(PLANNERS),
    f"POST {_W}/wall-links": Ward(PLANNERS),
    f"POST {_W}/wall-links/{{link_id}}/revoke": Ward(PLANNERS),
    # one's own units
    "GET /mine": Own(NURSES),
    "GET /mine/due": Own(NURSES),
    "POST /mine/have": Own(NURSES, HAS_IT),
    "GET /mine/take-over": Own(NURSES),
    "GET /mine/units/{episode_id}": Ward(NURSES),
    "POST /mine/units/{episode_id}/hand-over": Ward(NURSES, {"nurse_id": "nurse-2"}),
    "POST /mine/units/{episode_id}/take-over": Ward(NURSES),
    f"GET {_W}/cover": Ward(),
    f"GET {_W}/cover/strip": Ward(),
    f"POST {_W}/cover": Ward(IN_CHARGE, COVERED),
    f"POST {_W}/cover/{{cover_id}}/end": Ward(IN_CHARGE),
    # one unit
    f"GET {_E}": Ward(),
    f"GET {_E}/standing": Ward(),
    f"POST {_E}/events": Ward(NURSES, NOTE),
    f"POST {_E}/press": Ward(NURSES),
    f"GET {_E}/identity": Ward(),
    f"GET {_E}/identity/waiting": Ward(),
    f"POST {_E}/identity": Ward(NURSES, CHECK),
    f"POST {_E}/identity/interrupted": Ward(NURSES, CHECK),
    f"POST {_E}/identity/second": Ward(NURSES, SECOND),
    f"GET {_E}/reaction": Ward(),
    f"GET {_E}/reaction/standing": Ward(),
    f"POST {_E}/reaction": Ward(NURSES, SUSPECTED),
    f"GET {_E}/record": Ward(),
    f"GET {_E}/breaches/{{clock}}/{{n}}": Ward(),
    f"POST {_E}/breaches/{{clock}}/{{n}}": Ward(NURSES | {MANAGER}, CAUSE),
    "GET /identity-checks": Own(),
    "POST /labels": Anybody(),
    # signing in, and where one is
    "GET /sign-in": Open(),
    "POST /sign-in": Open(),
    "POST /sign-in/badge": Open(),
    "GET /sign-in/code": Open(),
    "POST /sign-in/code": Open(),
    "POST /sign-in/elsewhere": Open(),
    "GET /sign-in/back": Open(),
    "POST /sign-out": Open(),
    "GET /who": Open(),
    "POST /act": Open(),
    "POST /lock": Open(),
    "GET /locked": Open(),
    "POST /unlock": Open(),
    "GET /my-sign-in": Own(),
    "POST /my-sign-in/pin": Own(),
    "POST /my-sign-in/password": Own(),
    "GET /my-sign-in/second-factor": Own(),
    "POST /my-sign-in/second-factor/{act}": Own(),
    "POST /my-sign-in/account": Own(),
    "POST /my-sign-in/account/undo": Own(),
    "POST /my-sign-in/sessions/{session_id}/end": Own(),
    "POST /my-sign-in/others/end": Own(),
    "GET /unsent": Own(),
    "POST /unsent": Own(),
    "POST /unsent/drop": Own(),
    # what was, and what it comes to
    f"GET {_W}/reminders": Ward(),
    f"POST {_W}/reminders": Ward(NURSES, HAS_IT),
    "GET /review": Own(),
    f"GET {_W}/review": Ward(),
    f"POST {_W}/review/changes": Ward(REVIEWERS, CHANGED),
    f"POST {_W}/review/changes/{{change_id}}/withdraw": Ward(REVIEWERS),
    "GET /replay": Own(),
    f"GET {_W}/replay": Ward(),
    "GET /breaches": Own(),
    f"GET {_W}/breaches": Ward(),
    f"GET {_W}/accounts": Ward(),
    f"GET {_W}/exports": Ward(EXPORTERS),
    f"POST {_W}/exports": Ward(EXPORTERS),
    f"GET {_W}/report": Ward(EXPORTERS),
    f"GET {_W}/sheet": Ward(),
    f"GET {_W}/alarm-load": Ward(REVIEWERS),
    "GET /audit": Own(AUDITORS),
    "GET /program": Anybody(SET_UP),
    "POST /audit": Own(AUDITORS, {"record_number": "T000001"}),
    # orders and patients
    f"GET {_W}/orders": Ward(),
    f"GET {_W}/orders/new": Ward(IN_CHARGE),
    f"POST {_W}/orders": Ward(IN_CHARGE, ORDER),
    f"GET {_W}/orders/{{order_id}}/change": Ward(IN_CHARGE),
    f"POST {_W}/orders/{{order_id}}/change": Ward(IN_CHARGE, ORDER),
    "GET /patients": Own(),
    "POST /patients/search": Own(typed={"q": "Alder"}),
    "GET /patients/new": Own(IN_CHARGE),
    "POST /patients": Own(IN_CHARGE, PATIENT),
    "GET /patients/{patient_id}": Ward(IN_CHARGE),
    "POST /patients/{patient_id}": Ward(IN_CHARGE, PATIENT),
    # people and their work
    f"GET {_W}/staff": Ward(),
    f"GET {_W}/staff/new": Ward(SET_UP),
    f"POST {_W}/staff": Ward(SET_UP, PERSON),
    f"GET {_W}/staff/{{staff_id}}": Ward(SET_UP),
    f"POST {_W}/staff/{{staff_id}}": Ward(SET_UP, PERSON),
    f"GET {_BADGE}": Ward(PLANNERS),
    f"POST {_BADGE}": Ward(PLANNERS),
    f"POST {_BADGE}/take-back": Ward(PLANNERS),
    f"POST {_BADGE}/sign-out": Ward(SET_UP),
    f"POST {_BADGE}/second-factor": Ward(SET_UP),
    f"GET {_ACCOUNT}": Ward(SET_UP),
    f"POST {_ACCOUNT}": Ward(SET_UP, {"account": "nina"}),
    f"POST {_ACCOUNT}/undo": Ward(SET_UP),
    f"GET {_W}/shifts": Ward(),
    f"GET {_W}/shifts/new": Ward(PLANNERS),
    f"POST {_W}/shifts": Ward(PLANNERS, SHIFT),
    f"GET {_W}/shifts/{{shift_id}}": Ward(PLANNERS),
    f"POST {_W}/shifts/{{shift_id}}": Ward(PLANNERS, SHIFT),
    f"GET {_PLAN}": Ward(),
    f"GET {_PLAN}/strip": Ward(),
    f"GET {_PLAN}/day": Ward(),
    f"GET {_PLAN}/run": Ward(IN_CHARGE, query="?run=none"),
    f"POST {_PLAN}/ask": Ward(IN_CHARGE),
    f"POST {_PLAN}/suppose": Ward(IN_CHARGE),
    f"POST {_PLAN}/stop": Ward(IN_CHARGE),
    f"POST {_PLAN}/change": Ward(IN_CHARGE, {**PLAN, "do": "loosen"}),
    f"POST {_PLAN}/accept": Ward(IN_CHARGE, PLAN),
    f"POST {_PLAN}/take-over": Ward(IN_CHARGE, PLAN),
    f"POST {_PLAN}/discard": Ward(IN_CHARGE, PLAN),
    f"POST {_PLAN}/day": Ward(PLANNERS),
    f"POST {_PLAN}/day/copy": Ward(PLANNERS),
    f"POST {_PLAN}/day/learnt": Ward(frozenset({MANAGER})),
    # setting up
    "GET /wards": Own(),
    "GET /wards/new": Own(SET_UP),
    "POST /wards": Own(SET_UP, SETTINGS),
    f"GET {_W}/settings": Ward(SET_UP),
    f"POST {_W}/settings": Ward(SET_UP, SETTINGS),
    "GET /policies": Anybody(),
    "GET /policies/{name}": Anybody(),
    "GET /compatibility": Anybody(),
    "GET /tokens": Own(SET_UP),
    "GET /tokens/new": Own(SET_UP),
    "POST /tokens": Own(SET_UP, TOKEN),
    "GET /tokens/{token_id}/take-back": Own(SET_UP),
    "POST /tokens/{token_id}/take-back": Own(SET_UP),
    f"GET {_HOOKS}": Ward(PLANNERS),
    f"GET {_HOOKS}/strip": Ward(PLANNERS),
    f"GET {_HOOKS}/new": Ward(SET_UP),
    f"POST {_HOOKS}": Ward(SET_UP, HOOK),
    f"GET {_HOOK}": Ward(PLANNERS),
    f"GET {_HOOK}/messages": Ward(PLANNERS),
    f"GET {_HOOK}/change": Ward(SET_UP),
    f"POST {_HOOK}/change": Ward(SET_UP, HOOK),
    f"POST {_HOOK}/secret": Ward(SET_UP),
    f"POST {_HOOK}/messages/{{message_id}}/again": Ward(SET_UP),
    f"POST {_HOOK}/{{act}}": Ward(SET_UP),
}
