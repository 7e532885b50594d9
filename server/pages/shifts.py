"""Shifts of a ward: who is on duty when, with breaks."""

from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from server.domain.wording import dated_time, stamp
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry, Wrong, instant_values
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import Surroundings
from server.pages.links import shift_href, ward_href
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, Sheet, list_page
from server.pages.visitors import See, Typed
from server.services.enter_shift import ShiftDraft, enter_shift, list_shifts, remove_shift
from server.services.enter_staff import list_staff
from server.services.errors import NotFound
from server.services.permissions import Act, may, require
from server.services.shown import shows_no_patient
from server.store.sessions import WriteSession
from server.store.shifts import Break, Shift

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "shifts"
BEHIND: Final = timedelta(hours=24)
AHEAD: Final = timedelta(days=8)
FEWEST_BREAKS: Final = 2
MOST_BREAKS: Final = 12
FIELDS: Final = (
    Field("staff_id", "Who", Shape.CHOICE, given="staff", required=True, empty="choose"),
    Field("starts_at", "From", Shape.INSTANT, required=True),
    Field("ends_at", "Until", Shape.INSTANT, required=True),
)
HINT: Final = "A time without a date is of the day on which the shift begins."


@router.get("/wards/{ward_id}/shifts")
@shows_no_patient
def see_shifts(request: Request, visitor: See, ward_id: str) -> Response:
    """The shifts of a ward from yesterday on, for a week ahead."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting, plans = screen.setting(), may(visitor.actor, Act.PLAN_STAFF, ward_id)
    names = dict(_staff(screen))
    shifts = _shifts(screen)
    listed = ListPage(
        title="Shifts",
        caption="Shifts by when they begin",
        columns=("Who", "From", "Until", "Breaks", ""),
        rows=tuple(_row(one, names, setting.zone, screen.now, plans=plans) for one in shifts),
        empty="No shift is entered for the coming week.",
        actions=(("Enter a shift", ward_href(ward_id, "shifts/new")),) if plans else (),
    )
    return list_page(screen.head(setting), listed)


@router.get("/wards/{ward_id}/shifts/new")
@shows_no_patient
def see_new_shift(request: Request, visitor: See, ward_id: str) -> Response:
    """The form to enter a shift."""
    require(visitor.actor, Act.PLAN_STAFF, ward_id)
    return _form(Screen(request, visitor, NAME, ward_id), None, Entry())


@router.post("/wards/{ward_id}/shifts")
def enter(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Enter a shift."""
    return _try(Screen(request, visitor, NAME, ward_id), typed, None)


@router.get("/wards/{ward_id}/shifts/{shift_id}")
@shows_no_patient
def see_shift(request: Request, visitor: See, ward_id: str, shift_id: str) -> Response:
    """The form to change a shift."""
    require(visitor.actor, Act.PLAN_STAFF, ward_id)
    screen = Screen(request, visitor, NAME, ward_id)
    shift = _find(screen, shift_id)
    return _form(screen, shift_id, Entry(_values(shift, screen.setting().zone)))


@router.post("/wards/{ward_id}/shifts/{shift_id}")
def change(request: Request, visitor: See, typed: Typed, ward_id: str, shift_id: str) -> Response:
    """Change a shift, or take it off the plan."""
    return _try(Screen(request, visitor, NAME, ward_id), typed, shift_id)


def _try(screen: Screen, typed: Entry, shift_id: str | None) -> Response:
    def act() -> str:
        if shift_id is not None:
            _find(screen, shift_id)
        if shift_id is not None and typed.yes_no("remove"):
            with screen.store.write() as session:
                remove_shift(session, screen.visitor.actor, shift_id, now=screen.now)
        else:
            draft = _draft(screen, typed, shift_id)
            screen.write_once(typed, lambda session: _enter(session, screen, draft))
        return ward_href(screen.ward_id or "", "shifts")

    def again(wrong: Wrong) -> Response:
        return _form(screen, shift_id, typed, _renamed(wrong, typed))

    return screen.try_form(typed, act, again)


def _enter(session: WriteSession, screen: Screen, draft: ShiftDraft) -> str:
    return enter_shift(session, screen.visitor.actor, draft, now=screen.now).id


def _draft(screen: Screen, typed: Entry, shift_id: str | None) -> ShiftDraft:
    zone, day = screen.setting().zone, typed.raw("starts_at_date")
    staff = [value for value, _ in _staff(screen)]
    starts_at = typed.instant("starts_at", zone, required=True)
    ends_at = typed.instant("ends_at", zone, required=True, day=day)
    staff_id = typed.choice("staff_id", staff, required=True)
    breaks = [_break(typed, name, zone, day) for name in _break_names(typed)]
    typed.check()
    return ShiftDraft(
        staff_id=staff_id or "",
        ward_id=screen.ward_id or "",
        starts_at=starts_at or screen.now,
        ends_at=ends_at or screen.now,
        breaks=tuple(one for one in breaks if one is not None),
        id=shift_id,
    )


def _break(typed: Entry, name: str, zone: ZoneInfo, day: str) -> Break | None:
    begins = typed.instant(f"{name}_from", zone, day=day)
    ends = typed.instant(f"{name}_until", zone, day=day, required=begins is not None)
    if begins is None and ends is not None:
        typed.refuse(f"{name}_from", "the beginning of the break is missing")
    return None if begins is None or ends is None else Break(begins, ends)


def _break_names(entry: Entry) -> list[str]:
    """The breaks that a form has room for: all that it holds, and one more."""
    names = [f"break_{place}" for place in range(1, MOST_BREAKS + 1)]
    held = [place for place, name in enumerate(names) if entry.raw(f"{name}_from_time")]
    return names[: max(FEWEST_BREAKS, max(held, default=-1) + 2)]


def _break_fields(entry: Entry) -> tuple[Field, ...]:
    ends = (("from", "from"), ("until", "until"))
    return tuple(
        Field(f"{name}_{end}", f"Break {place} {words}", Shape.INSTANT)
        for place, name in enumerate(_break_names(entry), start=1)
        for end, words in ends
    )


def _renamed(wrong: Wrong, entry: Entry) -> Wrong:
    """The refusals of a shift under the names of its form's fields."""
    filled = [name for name in _break_names(entry) if entry.raw(f"{name}_from_time")]
    names = {
        f"breaks.{place}.{end}": f"{name}_{said}"
        for place, name in enumerate(filled)
        for end, said in (("starts_at", "from"), ("ends_at", "until"))
    }
    errors = {names.get(name, name): why for name, why in wrong.errors.items()}
    return Wrong(errors, status=wrong.status, phase=wrong.phase)


def _form(
    screen: Screen, shift_id: str | None, entry: Entry, wrong: Wrong | None = None
) -> Response:
    ward_id = screen.ward_id or ""
    back = ("Shifts", ward_href(ward_id, "shifts"))
    fields = (*FIELDS, *_break_fields(entry))
    sheet = Sheet("Enter a shift", back[1], "Enter the shift", back, fields, HINT)
    if shift_id is not None:
        remove = Field("remove", "Take this shift off the plan", Shape.TICK)
        href = shift_href(ward_id, shift_id)
        sheet = Sheet("Change a shift", href, "Record the change", back, (*fields, remove), HINT)
    around = Surroundings(screen.setting().zone, {"staff": _staff(screen)})
    return screen.form(sheet, entry, around, wrong)


def _staff(screen: Screen) -> Options:
    with screen.store.read() as session:
        staff = list_staff(session, screen.visitor.actor, screen.ward_id)
    return tuple((one.id, one.name) for one in staff)


def _shifts(screen: Screen) -> tuple[Shift, ...]:
    first, last = screen.now - BEHIND, screen.now + AHEAD
    with screen.store.read() as session:
        return list_shifts(session, screen.visitor.actor, screen.ward_id or "", first, last)


def _find(screen: Screen, shift_id: str) -> Shift:
    for shift in _shifts(screen):
        if shift.id == shift_id:
            return shift
    raise NotFound("the shift")


def _values(shift: Shift, zone: ZoneInfo) -> dict[str, list[str]]:
    values = {"staff_id": [shift.staff_id]}
    values |= instant_values("starts_at", shift.starts_at, zone)
    values |= instant_values("ends_at", shift.ends_at, zone)
    for place, one in enumerate(shift.breaks, start=1):
        values |= instant_values(f"break_{place}_from", one.starts_at, zone)
        values |= instant_values(f"break_{place}_until", one.ends_at, zone)
    return values


def _row(shift: Shift, names: dict[str, str], zone: ZoneInfo, now: datetime, *, plans: bool) -> Row:
    breaks = (
        f"{one.starts_at.astimezone(zone):%H:%M} to {one.ends_at.astimezone(zone):%H:%M}"
        for one in shift.breaks
    )
    here = shift.starts_at <= now < shift.ends_at
    return Row(
        (
            Cell(names.get(shift.staff_id, shift.staff_id), soft="on duty" if here else ""),
            Cell(stamp(shift.starts_at, zone)),
            Cell(dated_time(shift.ends_at, zone, shift.starts_at)),
            Cell(", ".join(breaks)),
            Cell("Change" if plans else "", shift_href(shift.ward_id, shift.id) if plans else ""),
        )
    )
