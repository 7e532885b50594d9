"""A row of the board: one unit, ready to be shown."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import quote

from server.domain.alarm import MARK, OF_LEVEL, Alarm
from server.domain.picture import Picture
from server.domain.wording import COMPONENT, LEVEL
from server.domain.words import Level, Phase
from server.pages.counted import Moment, Part, counted_parts
from server.pages.line_view import LineView, line_view
from server.pages.page_head import iso
from server.pages.row_next import act_of, moment_of, row_clock
from server.pages.time_window import Window

LONGEST_BED: Final = 3  # letters that fit the column at full size
UNASSIGNED: Final = "-"  # no key of a nurse: `dom_key` never answers it


@dataclass(frozen=True, slots=True)
class VolumeView:
    """The volume of a unit in whole mL; `rate_ml_h` above 0: it goes on counting from `at_iso`."""

    given_ml: int | None
    volume_ml: int | None
    exact_ml: float = 0.0
    rate_ml_h: float = 0.0
    at_iso: str = ""


@dataclass(frozen=True, slots=True)
class RowView:
    """One row. `key` is safe in an HTML id; `level` is the CSS class, `word` what it says.

    On the wall `family_name`, `given_name`, `nurse`, `held_text` and `href` are empty.
    """

    key: str
    level: str
    priority: str
    mark: str
    word: str
    bed: str
    bed_size: str
    initials: str
    family_name: str
    given_name: str
    href: str
    component: str
    place: str
    reason: tuple[Part, ...]
    act: str
    moment: Moment | None
    line: LineView
    volume: VolumeView
    nurse_key: str
    nurse: str
    held_text: str
    overridden: bool
    warned: str
    closed: bool


def dom_key(text: str) -> str:
    """Answer an id as HTML ids and selectors can carry it, whatever letters it has."""
    if text.replace("-", "").isalnum() and text.isascii():
        return text
    return "x_" + text.encode().hex()


def row_view(picture: Picture, window: Window, names: Mapping[str, str]) -> RowView:
    """Answer the row of one unit; `names` are those of the staff by id."""
    request, level = picture.case.request, picture.urgency.level
    patient, nurse_id = picture.case.patient, picture.episode.nurse_id
    priority = OF_LEVEL.get(level, Alarm.NONE)
    return RowView(
        key=dom_key(request.id),
        level=level.value,
        priority=priority,
        mark=MARK[priority],
        word=LEVEL[level],
        bed=request.bed,
        bed_size=_bed_size(request.bed),
        initials=patient.initials,
        family_name=patient.family_name,
        given_name=patient.given_name,
        href=f"/episodes/{quote(request.id, safe='')}",
        component=COMPONENT[request.component],
        place=f"{request.n} of {request.units}" if request.units > 1 else "",
        reason=tuple(counted_parts(picture.urgency.told, picture.standing.now)),
        act=act_of(picture),
        moment=moment_of(picture),
        line=line_view(picture, window),
        volume=_volume(picture),
        nurse_key=UNASSIGNED if nurse_id is None else dom_key(nurse_id),
        nurse="" if nurse_id is None else names.get(nurse_id, nurse_id),
        held_text=_held(picture, names),
        overridden=picture.episode.override_reason is not None,
        warned=_warned(picture),
        closed=level is Level.CLOSED and not picture.episode.open_warnings,
    )


def wall_row(row: RowView) -> RowView:
    """Answer the row without what a wall must not show."""
    return replace(row, family_name="", given_name="", nurse="", held_text="", href="")


def _bed_size(bed: str) -> str:
    """The class that makes a long name of a bed fit its column."""
    return " long" if len(bed) > LONGEST_BED else " three" if len(bed) == LONGEST_BED else ""


def _volume(picture: Picture) -> VolumeView:
    infusion, episode = picture.infusion, picture.episode
    whole = None if episode.volume_ml is None else round(episode.volume_ml)
    if episode.started_at is None:
        return VolumeView(None, whole)
    runs = episode.phase is Phase.RUNNING and whole is not None
    return VolumeView(
        given_ml=int(infusion.given_ml + 1e-9),
        volume_ml=whole,
        exact_ml=round(infusion.given_ml, 3),
        rate_ml_h=(infusion.rate_ml_h or 0.0) if runs else 0.0,
        at_iso=iso(picture.standing.now),
    )


def _warned(picture: Picture) -> str:
    """A linked warning in as few words as there is room for on many rows; the unit says it all."""
    beds = dict.fromkeys(warning.bed for warning in picture.episode.open_warnings)
    return f"identity error, bed {', '.join(beds)}" if beds else ""


def _held(picture: Picture, names: Mapping[str, str]) -> str:
    """Who said "I have it" of what the row is about."""
    clock = row_clock(picture)
    if clock is None:
        return ""
    held = [
        said
        for said in picture.episode.acknowledgements
        if said.clock is clock.name and (clock.opens_at is None or said.at >= clock.opens_at)
    ]
    return f"{names.get(held[-1].staff_id, held[-1].staff_id)} has it" if held else ""
