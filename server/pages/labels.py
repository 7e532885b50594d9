"""Labels for the scripts of the pages: a read of the scanner in a form, what it says as JSON."""

from datetime import date
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from server.domain.attributes import WARNS, WORDS, Attribute
from server.domain.errors import Invalid
from server.domain.labels import Group
from server.pages.answers import PageRoute
from server.pages.event_forms.words import ATTRIBUTES
from server.pages.refusals import REFUSALS, wrong_of
from server.pages.visitors import See, Typed, require_token
from server.services.badges import holder_of
from server.services.read_label import Label, read_label

router = APIRouter(route_class=PageRoute, include_in_schema=False)

STOP: Final = "Keep the bag apart and call the transfusion laboratory"
SIGNS: Final = {"pos": "positive", "neg": "negative", "pooled": "pooled"}
BADGE: Final[dict[str, Any]] = {
    "read": [{"name": "staff_number", "words": "a badge"}],
    "fields": {},
    "stops": [],
    "stop": "",
    "badge": True,
}
KEPT: Final = {"Cache-Control": "no-store"}


@router.post("/labels")
def read_scan(request: Request, visitor: See, typed: Typed) -> Response:
    """What a scan says, as the fields of forms and in words; nothing of it is stored."""
    try:
        require_token(typed, visitor.secret)
        with request.app.state.store.read() as session:
            scan, key = typed.raw("scan"), request.app.state.board_key
            if holder_of(session, key, scan) is not None:
                return _answer(BADGE, 200)
            label = read_label(session, visitor.actor, scan)
    except Invalid as refusal:
        return _answer({"why": _sentence(refusal.message)}, 422)
    except REFUSALS as refusal:
        wrong = wrong_of(refusal)
        return _answer({"why": "; ".join(wrong.errors.values())}, wrong.status)
    return _answer(label_view(label), 200)


def _answer(said: dict[str, Any], status: int) -> Response:
    return JSONResponse(said, status, KEPT)


def label_view(label: Label) -> dict[str, Any]:
    """What a label says: words for each thing read, and the values of the fields that ask for it.

    A bag that must not be given fills nothing in. Values are as the fields hold them, times as on
    the label: it means the clocks of the ward.
    """
    return {
        "read": [{"name": name, "words": words} for name, words in _words(label)],
        "fields": {} if label.stops else _fields(label),
        "badge": label.staff_number is not None,
        "stops": list(label.stops),
        "stop": f"{_sentence('; '.join(label.stops))} {STOP}." if label.stops else "",
    }


def _fields(label: Label) -> dict[str, str]:
    unit, product, group, expiry = label.unit_number, label.product, label.group, label.expiry
    found = {
        "unit_number": unit and unit.shown,
        "product": product and product.printed,
        "division": label.division,
        "blood_group": group and group.group and group.group.value,
        "expires_at": expiry and f"{expiry.at:%Y-%m-%dT%H:%M}",
        "record_number": label.record_number,
        "birth_date": label.birth_date and label.birth_date.isoformat(),
        "recipient_number": label.recipient_number,
        "staff_number": label.staff_number,
        "attributes": " ".join(_offered(label)),
    }
    return {name: value for name, value in found.items() if value}


def _words(label: Label) -> list[tuple[str, str]]:
    unit, product, group, expiry = label.unit_number, label.product, label.group, label.expiry
    found = (
        ("unit_number", unit and f"unit number {unit.shown}"),
        ("product", product and f"product {product.printed}"),
        ("division", None if product or not label.division else f"division {label.division}"),
        ("blood_group", group and _group_words(group)),
        ("expires_at", expiry and f"expires {_day(expiry.at)} {expiry.at:%H:%M}"),
        ("record_number", label.record_number and f"record number {label.record_number}"),
        ("birth_date", label.birth_date and f"born {_day(label.birth_date)}"),
        ("recipient_number", label.recipient_number and f"wristband {label.recipient_number}"),
        ("staff_number", label.staff_number and "a badge"),
        ("attributes", _shown(label)),
    )
    said = [(name, words) for name, words in found if words]
    return said or [("other", "a label that is not needed here")]


def _group_words(group: Group) -> str:
    if group.abo is None:
        return "no group"
    words = f"group {group.abo} {SIGNS.get(group.rhd or '', 'without RhD')}"
    said = words if group.use == "default" else f"{words}, {group.use.replace('_', ' ')}"
    return said if group.group else f"{said}: none of the eight groups, left blank"


def _offered(label: Label) -> tuple[str, ...]:
    """What it shows that a form offers to tick; the rest stops."""
    offered = dict(ATTRIBUTES)
    return tuple(name for name in label.attributes if name in offered)


def _shown(label: Label) -> str:
    """The same in words, without what is said with the group."""
    names = [name for name in _offered(label) if name not in WARNS]
    return ", ".join(WORDS[Attribute(name)] for name in names)


def _day(at: date) -> str:
    return f"{at.day} {at:%b %Y}"


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
