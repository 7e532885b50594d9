"""Take tables of a ward away as files: which, of which days, with or without who the patients are.

Handing one out is an act, sent as a form: it leaves a row in the audit trail, and an address alone
could be opened by whatever fetches ahead.
"""

from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from server.exchange.sheets import FORMATS
from server.pages.answers import PageRoute, attempt
from server.pages.exports.ground import Ground, Naming
from server.pages.exports.handing_out import hand_out, write_table, write_tables
from server.pages.exports.narrowing import FILTERS, filter_words
from server.pages.exports.tables import TABLES
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.period import A_MONTH, last_days, period_of
from server.pages.links import ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.pages.ward_setting import WardSetting
from server.services.enter_ward import list_wards, read_ward
from server.services.export_sheet import may_export
from server.services.permissions import Act, require
from server.services.shown import shows_no_patient
from server.store.sessions import ReadSession
from server.store.wards import Ward

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "exports"
FIELDS: Final = ("from", "to", "what", "wards", "form", "identity", *FILTERS)
FORMS: Final = (
    ("xlsx", "Workbook (XLSX)"),
    ("csv", "CSV in a ZIP, with a second file that says what it is"),
)
WITHOUT, WITH = "without", "with"
ONE, ALL = "one", "all"
ALL_WORDS: Final = "All my wards, each ward’s file in one ZIP"
IDENTITY: Final = (
    (WITHOUT, "Without: no name, record number, date of birth, bed or free text"),
    (WITH, "With names and record numbers"),
)


@dataclass(frozen=True, slots=True)
class Offer:
    """What the form offers; `only` says what breaches are narrowed to, `hidden` holds it.

    `wards` is empty for somebody of one ward.
    """

    tables: tuple[tuple[str, str], ...]
    wards: tuple[tuple[str, str], ...]
    forms: tuple[tuple[str, str], ...]
    identity: tuple[tuple[str, str], ...]
    only: tuple[str, ...]
    hidden: tuple[tuple[str, str], ...]


@router.get("/wards/{ward_id}/exports")
@shows_no_patient
def see_exports(request: Request, visitor: See, ward_id: str) -> Response:
    """The form, as far as the address fills it in."""
    screen = Screen(request, visitor, NAME, ward_id)
    query = request.query_params
    return _page(screen, Entry({name: [query.get(name, "")] for name in FIELDS}), {})


@router.post("/wards/{ward_id}/exports")
def take_away(request: Request, visitor: See, ward_id: str, typed: Typed) -> Response:
    """The file that was asked for."""
    screen = Screen(request, visitor, NAME, ward_id)
    return attempt(
        visitor,
        typed,
        lambda: _file(screen, typed),
        lambda wrong: _page(screen, typed, wrong.errors, wrong.status),
    )


def _page(screen: Screen, asked: Entry, errors: dict[str, str], status: int = 200) -> Response:
    setting, ward_id = screen.setting(), screen.ward_id or ""
    actor = screen.visitor.actor
    require(actor, Act.EXPORT, ward_id)
    usual = last_days(A_MONTH, screen.now, setting.zone)
    usual |= {"what": "breaches", "wards": ONE, "form": "xlsx", "identity": WITHOUT}
    return page(
        "export/exports.html",
        status=status,
        head=screen.head(setting),
        href=ward_href(ward_id, NAME),
        offer=_offer(asked, setting, named=may_export(actor, ward_id, with_identity=True)),
        asked={name: asked.raw(name) or text for name, text in usual.items()},
        errors=errors,
    )


def _offer(asked: Entry, setting: WardSetting, *, named: bool) -> Offer:
    this = "" if setting.ward is None else setting.ward.name
    tables = (one for one in TABLES.values() if named or one.naming is not Naming.ALWAYS)
    return Offer(
        tables=tuple((one.name, one.text) for one in tables),
        wards=((ONE, this), (ALL, ALL_WORDS)) if setting.several else (),
        forms=FORMS,
        identity=IDENTITY if named else IDENTITY[:1],
        only=filter_words(asked),
        hidden=tuple((name, asked.raw(name)) for name in FILTERS if asked.raw(name)),
    )


def _file(screen: Screen, typed: Entry) -> Response:
    what = typed.choice("what", TABLES, required=True)
    form = typed.choice("form", FORMATS, required=True)
    identity = typed.choice("identity", [WITHOUT, WITH], required=True)
    wards = typed.choice("wards", [ONE, ALL]) or ONE
    typed.check()
    if what is None or form is None:
        raise Wrong({"form": "cannot be read; expected what the page offers"})
    table = TABLES[what]
    with_identity = {
        Naming.ALWAYS: True,
        Naming.NEVER: False,
        Naming.CHOICE: identity == WITH,
    }[table.naming]
    with screen.store.read() as session:
        grounds = [_ground(session, screen, typed, one) for one in _wards(session, screen, wards)]
        if wards == ALL:
            written = write_tables(grounds, table, form, with_identity=with_identity)
        else:
            written = write_table(grounds[0], table, form, with_identity=with_identity)
    return hand_out(screen, written)


def _wards(session: ReadSession, screen: Screen, wards: str) -> tuple[Ward, ...]:
    actor = screen.visitor.actor
    here = read_ward(session, actor, screen.ward_id or "")
    return list_wards(session, actor) if wards == ALL else (here,)


def _ground(session: ReadSession, screen: Screen, typed: Entry, ward: Ward) -> Ground:
    """The same days on every ward, by its own calendar. Raises `Wrong`."""
    period = period_of(typed, ZoneInfo(ward.timezone))
    typed.check()
    days = typed.day("from"), typed.day("to")
    if period is None or days[0] is None or days[1] is None:
        raise Wrong({"from": "cannot be read; expected a day"})
    actor = screen.visitor.actor
    return Ground(session, actor, ward, period, (days[0], days[1]), typed, screen.now)
