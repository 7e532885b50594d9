"""Patients: find, register, change."""

from collections.abc import Sequence
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.domain.request import Patient
from server.domain.wording import day_text
from server.domain.words import BloodGroup
from server.pages.answers import PageRoute
from server.pages.event_forms.words import BLOOD_GROUPS
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import YES_NO, Field, Shape
from server.pages.links import patient_href, ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, Sheet
from server.pages.visitors import See, Typed, require_token
from server.services.permissions import Act, may, require
from server.services.register_patient import (
    PatientDraft,
    find_patients,
    read_patient,
    register_patient,
)
from server.services.shown import shows, shows_no_patient
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "patients"
SPO2_SCALES: Final = (("1", "scale 1"), ("2", "scale 2, on a recorded decision"))
FIELDS: Final = (
    Field("record_number", "Record number", required=True),
    Field("family_name", "Family name", required=True),
    Field("given_name", "Given name", required=True),
    Field("birth_date", "Date of birth", Shape.DAY),
    Field("blood_group", "Blood group", Shape.CHOICE, options=BLOOD_GROUPS, empty="not known"),
    Field("weight_kg", "Weight", Shape.NUMBER, unit="kg"),
    Field("pregnant", "Pregnant", Shape.YES_NO, options=YES_NO),
    Field(
        "overload_risks",
        "Risks of circulatory overload",
        hint="Separated by commas. Any of them lowers the ceiling of the rate.",
    ),
    Field("spo2_scale", "SpO₂ scale", Shape.CHOICE, options=SPO2_SCALES, empty="not decided"),
)
BACK: Final = ("Patients", "/patients")

SEARCH: Final = "/patients/search"
LONGEST_SEARCH: Final = 200
Saved = Annotated[str, Query(max_length=200)]


@router.get("/patients")
@shows(SubjectKind.PATIENTS)
def see_patients(request: Request, visitor: See, saved: Saved = "") -> Response:
    """All patients of one's wards, or the one that was `saved` just now."""
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        if saved:
            return _listed(screen, [read_patient(session, visitor.actor, saved)])
        return _listed(screen, find_patients(session, visitor.actor, ""))


@router.post(SEARCH)
@shows(SubjectKind.PATIENTS)
def search(request: Request, visitor: See, typed: Typed) -> Response:
    """Patients whose names or record number contain what was typed, which no address holds."""
    require_token(typed, visitor.secret)
    screen, q = Screen(request, visitor, NAME), typed.raw("q")[:LONGEST_SEARCH]
    with screen.store.read() as session:
        return _listed(screen, find_patients(session, visitor.actor, q), q)


def _listed(screen: Screen, found: Sequence[Patient], q: str = "") -> Response:
    setting, visitor = screen.setting(), screen.visitor
    orders = may(visitor.actor, Act.ORDER)
    listed = ListPage(
        title="Patients",
        caption="Patients by name",
        columns=("Name", "Record number", "Born", "Blood group", ("Weight, kg", "number"), ""),
        rows=tuple(_row(one, setting.ward_id, orders=orders) for one in found),
        empty="No patient matches." if q else "No patient is registered yet.",
        actions=(("Register a patient", "/patients/new"),) if orders else (),
    )
    head = screen.head(setting)
    return page("setup/patients.html", head=head, listed=listed, q=q, action=SEARCH)


@router.get("/patients/new")
@shows_no_patient
def see_new_patient(request: Request, visitor: See) -> Response:
    """The form to register a patient."""
    require(visitor.actor, Act.ORDER)
    return Screen(request, visitor, NAME).form(_new_sheet(), Entry())


@router.post("/patients")
def register(request: Request, visitor: See, typed: Typed) -> Response:
    """Register a patient."""
    screen = Screen(request, visitor, NAME)
    return screen.try_form(
        typed,
        lambda: _save(screen, typed, None),
        lambda wrong: screen.form(_new_sheet(), typed, wrong=wrong),
    )


@router.get("/patients/{patient_id}")
@shows(SubjectKind.PATIENT, "patient_id")
def see_patient(request: Request, visitor: See, patient_id: str) -> Response:
    """The form to change a patient."""
    require(visitor.actor, Act.ORDER)
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        patient = read_patient(session, visitor.actor, patient_id)
    return screen.form(_change_sheet(patient_id), Entry(_values(patient)))


@router.post("/patients/{patient_id}")
def change(request: Request, visitor: See, typed: Typed, patient_id: str) -> Response:
    """Record what has changed about a patient."""
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        read_patient(session, visitor.actor, patient_id)

    def again(wrong: Wrong) -> Response:
        return screen.form(_change_sheet(patient_id), typed, wrong=wrong)

    return screen.try_form(typed, lambda: _save(screen, typed, patient_id), again)


def _new_sheet() -> Sheet:
    return Sheet("Register a patient", "/patients", "Register", BACK, FIELDS)


def _change_sheet(patient_id: str) -> Sheet:
    hint = "What was recorded before stays in the record of changes."
    return Sheet("Patient", patient_href(patient_id), "Record the change", BACK, FIELDS, hint)


def _save(screen: Screen, typed: Entry, patient_id: str | None) -> str:
    draft = _draft(typed, patient_id)

    def write(session: WriteSession) -> str:
        saved = register_patient(session, screen.visitor.actor, draft, now=screen.now)
        return f"/patients?{urlencode({'saved': saved.id})}"

    return screen.write_once(typed, write)


def _draft(typed: Entry, patient_id: str | None) -> PatientDraft:
    group = typed.choice("blood_group", [value for value, _ in BLOOD_GROUPS])
    scale = typed.choice("spo2_scale", [value for value, _ in SPO2_SCALES])
    risks = typed.text("overload_risks") or ""
    draft = PatientDraft(
        id=patient_id,
        record_number=typed.text("record_number", required=True) or "",
        family_name=typed.text("family_name", required=True) or "",
        given_name=typed.text("given_name", required=True) or "",
        birth_date=typed.day("birth_date"),
        blood_group=None if group is None else BloodGroup(group),
        weight_kg=typed.number("weight_kg"),
        pregnant=typed.yes_no("pregnant"),
        overload_risks=tuple(part.strip() for part in risks.split(",") if part.strip()),
        spo2_scale=None if scale is None else int(scale),
    )
    typed.check()
    return draft


def _values(patient: Patient) -> dict[str, list[str]]:
    known = {
        "record_number": patient.record_number,
        "family_name": patient.family_name,
        "given_name": patient.given_name,
        "birth_date": patient.birth_date,
        "blood_group": patient.blood_group,
        "weight_kg": None if patient.weight_kg is None else f"{patient.weight_kg:g}",
        "pregnant": None if patient.pregnant is None else str(patient.pregnant).lower(),
        "overload_risks": ", ".join(patient.overload_risks),
        "spo2_scale": patient.spo2_scale,
    }
    return {name: [str(value)] for name, value in known.items() if value is not None}


def _row(patient: Patient, ward_id: str | None, *, orders: bool) -> Row:
    born = patient.birth_date
    href = patient_href(patient.id) if orders else ""
    order = ward_href(ward_id, "orders/new", patient=patient.id) if ward_id and orders else ""
    return Row(
        (
            Cell(patient.full_name, href),
            Cell(patient.record_number),
            Cell("" if born is None else day_text(born)),
            Cell((patient.blood_group or "").replace("-", "\N{MINUS SIGN}")),
            Cell("" if patient.weight_kg is None else f"{patient.weight_kg:g}", kind="number"),
            Cell("Order for this patient" if order else "", order),
        )
    )
