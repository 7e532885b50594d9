"""The audit trail: who did, saw or took away what and when, the newest first."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated, Final
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import AuditAct, SubjectKind
from server.domain.wording import dated_time
from server.pages.answers import PageRoute
from server.pages.audit_words import ACT, act_words, detail_words, role_words
from server.pages.forms.entry import Entry
from server.pages.forms.period import period_of
from server.pages.links import episode_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row
from server.pages.visitors import See, Typed, Visitor, require_token
from server.services.actor import Actor
from server.services.enter_staff import list_staff
from server.services.enter_ward import list_wards
from server.services.passed_limits import Period
from server.services.permissions import Act, require
from server.services.read_audit import NO_TIME, Source, Trail, TrailRow, noted_at, read_audit
from server.services.shown import shows
from server.store.audit_search import AuditQuery, Fact
from server.store.sessions import ReadSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "audit"
COLUMNS: Final = ("When", "Who", "What", "Patient", "Ward")
OF_EPISODE: Final = frozenset({"episode", "record", "reaction", "identity"})

LAST_PLACE: Final = 2**53 - 1  # the last whole number that every program keeps exactly
FIELDS: Final = ("person", "patient", "ward", "act", "from", "to")

RECORDED: Final = ("recorded", "recorded about a unit")

Place = Annotated[int | None, Query(ge=1, le=LAST_PLACE)]
Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Choices:
    """What can be chosen, by value and words."""

    people: Options
    wards: Options
    acts: Options = (RECORDED, *((one.value, words) for one, words in ACT.items()))


@router.get("/audit")
@shows(SubjectKind.AUDIT)
def see_audit(
    request: Request, visitor: See, before: Place = None, fact_before: Place = None
) -> Response:
    """A page of the trail, narrowed by person, patient, ward, act and days of the ward."""
    asked = Entry({name: request.query_params.getlist(name) for name in FIELDS})
    return _page(request, visitor, asked, before, fact_before)


@router.post("/audit")
@shows(SubjectKind.AUDIT)
def ask_audit(request: Request, visitor: See, typed: Typed) -> Response:
    """The newest page, also by the record number of a patient, which no address holds."""
    require_token(typed, visitor.secret)
    return _page(request, visitor, typed)


def _page(
    request: Request,
    visitor: Visitor,
    asked: Entry,
    before: int | None = None,
    fact_before: int | None = None,
) -> Response:
    require(visitor.actor, Act.READ_AUDIT)
    screen = Screen(request, visitor, NAME)
    setting, trail = screen.setting(), None
    with screen.store.read() as session:
        choices = _choices(session, visitor.actor)
        query = _query(asked, choices, setting.zone, screen.now)
        if not asked.errors:
            query = replace(query, before=before, fact_before=fact_before)
            trail = read_audit(
                session,
                visitor.actor,
                query,
                Source.LOG if asked.raw("act") == RECORDED[0] else Source.BOTH,
                record_number=asked.text("record_number"),
            )
    return page(
        "audit/audit.html",
        status=422 if asked.errors else 200,
        head=screen.head(setting),
        listed=_listed(trail, setting.zone),
        asked=asked,
        of_patient=bool(asked.all("patient")),
        errors=asked.errors,
        choices=choices,
        checked=_checked(trail, setting.zone, screen.now),
        is_broken=trail is not None and trail.checked is not None and bool(trail.checked.broken),
        years=setting.policy.retention_years if setting.policy else 0,
        older=_address(asked, trail.older) if trail is not None and trail.older else "",
        newest=_address(asked) if before or fact_before else "",
    )


def _choices(session: ReadSession, actor: Actor) -> Choices:
    people = list_staff(session, actor)
    return Choices(
        people=tuple((one.id, one.name) for one in people),
        wards=tuple((one.id, one.name) for one in list_wards(session, actor)),
    )


def _query(asked: Entry, choices: Choices, zone: ZoneInfo, now: datetime) -> AuditQuery:
    """What was asked for; what cannot be read is noted in `asked`."""
    act = asked.choice("act", dict(choices.acts))
    period = _period(asked, zone, now)
    return AuditQuery(
        actor_id=asked.choice("person", dict(choices.people)),
        ward_id=asked.choice("ward", dict(choices.wards)),
        act=None if act in (None, RECORDED[0]) else AuditAct(act),
        from_at=None if period is None else period.from_at,
        to_at=None if period is None else period.until,
        patient_ids=tuple(asked.all("patient")) or None,
    )


def _period(asked: Entry, zone: ZoneInfo, now: datetime) -> Period | None:
    """The days that were chosen; until today where only the first was."""
    days = {name: asked.raw(name) for name in ("from", "to")}
    if not any(days.values()):
        return None
    days["to"] = days["to"] or f"{now.astimezone(zone).date()}"
    chosen = Entry({name: [text] for name, text in days.items()})
    period = period_of(chosen, zone)
    for name, why in chosen.errors.items():
        asked.refuse(name, why)
    return period


def _address(asked: Entry, older: AuditQuery | None = None) -> str:
    """The same question, from a place of the trail and of the log on."""
    typed: dict[str, str | list[str]]
    typed = {name: asked.raw(name) for name in FIELDS if asked.raw(name)}
    patients = older.patient_ids if older is not None else asked.all("patient")
    if patients:
        typed["patient"] = list(patients)
    places = {"before": older and older.before, "fact_before": older and older.fact_before}
    typed |= {name: f"{place}" for name, place in places.items() if place}
    return f"/{NAME}?{urlencode(typed, doseq=True)}" if typed else f"/{NAME}"


def _listed(trail: Trail | None, zone: ZoneInfo) -> ListPage:
    return ListPage(
        title="Audit trail",
        caption="What was done, recorded and looked at, the newest first",
        columns=COLUMNS,
        rows=() if trail is None else tuple(_row(one, trail, zone) for one in trail.rows),
        empty="Nothing was noted that fits this" if trail else "Nothing was looked for",
    )


def _row(row: TrailRow, trail: Trail, zone: ZoneInfo) -> Row:
    at = noted_at(row)
    patient = trail.patients.get(row.patient_id or "")
    number = "" if isinstance(row, Fact) else f"row\N{NO-BREAK SPACE}{row.position}"
    return Row(
        (
            Cell(_time(at, zone), soft=number),
            _who(row, trail),
            _what(row, trail),
            Cell(
                patient.full_name if patient else "",
                soft=patient.record_number if patient else "",
            ),
            Cell(trail.wards.get(row.ward_id or "", "")),
        )
    )


def _time(at: datetime, zone: ZoneInfo) -> str:
    local = at.astimezone(zone)
    return "no time" if at == NO_TIME else f"{local:%a} {local.day} {local:%b %Y %H:%M:%S}"


def _who(row: TrailRow, trail: Trail) -> Cell:
    if isinstance(row, Fact):
        return Cell(trail.staff.get(row.recorded_by, row.recorded_by))
    return Cell(row.actor_name, soft=role_words(row.actor_role))


def _what(row: TrailRow, trail: Trail) -> Cell:
    words = act_words(row, trail.staff)
    if isinstance(row, Fact):
        return Cell(words, "" if row.episode_id is None else episode_href(row.episode_id))
    of_unit = row.subject_kind in OF_EPISODE and row.subject_id is not None
    href = episode_href(row.subject_id or "") if of_unit else ""
    return Cell(words, href, soft=detail_words(row, trail.wards))


def _checked(trail: Trail | None, zone: ZoneInfo, now: datetime) -> str:
    """Up to where the chain is known to be whole; nothing beside a question that was refused."""
    if trail is None:
        return ""
    if trail.checked is None:
        return "The chain has not been checked yet."
    checked = trail.checked
    when = dated_time(checked.at, zone, now)
    if checked.broken:
        return (
            f"The chain is broken: {checked.broken}. Checked {when}; tell whoever runs the board."
        )
    return f"The chain is whole up to row {checked.head.position}; checked {when}."
