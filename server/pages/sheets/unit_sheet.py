"""One unit on the paper sheet: who and what it is, its limits, and what is still owed."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.picture import Picture
from server.domain.wording import COMPONENT, PHASE, day_text
from server.domain.words import ClockName, Phase
from server.pages.sheets.lines import Line, lines_of
from server.pages.sheets.times import Times
from server.services.read_board import BoardRow

Pair = tuple[str, str]
BLANK: Final = ""
NOT_RECORDED: Final = "not recorded"


@dataclass(frozen=True, slots=True)
class UnitSheet:
    """One unit. A pair is a word and what stands behind it; an empty one is written by hand.

    `alerts` come before everything else. `starts`: its start is still to be written down.
    """

    bed: str
    patient: str
    state: str
    alerts: tuple[str, ...]
    identity: tuple[Pair, ...]
    unit: tuple[Pair, ...]
    times: tuple[Pair, ...]
    lines: tuple[Line, ...]
    starts: bool
    ends: bool


def unit_sheet(row: BoardRow, times: Times, *, fahrenheit: bool) -> UnitSheet:
    """Answer one unit as the sheet shows it."""
    picture = row.picture
    request, patient, episode = picture.case.request, picture.case.patient, picture.episode
    born = patient.birth_date
    return UnitSheet(
        bed=request.bed,
        patient=patient.full_name,
        state=_state(picture, times),
        alerts=tuple(_alerts(picture, times)),
        identity=(
            ("Record number", patient.record_number),
            ("Born", NOT_RECORDED if born is None else day_text(born)),
            ("Patient’s group", patient.blood_group or NOT_RECORDED),
            ("Nurse", row.nurse_name or episode.nurse_id or BLANK),
        ),
        unit=tuple(_unit(picture)),
        times=tuple(_times(picture, times)),
        lines=lines_of(picture, times, fahrenheit=fahrenheit),
        starts=episode.started_at is None,
        ends=episode.ended_at is None,
    )


def _unit(picture: Picture) -> Iterator[Pair]:
    request, episode = picture.case.request, picture.episode
    place = f", {request.n} of {request.units}" if request.units > 1 else ""
    yield "Component", f"{COMPONENT[request.component]}{place}"
    yield "Unit number", episode.unit_number or BLANK
    yield "Unit’s group", episode.blood_group or BLANK
    volume = episode.volume_ml
    yield "Volume", "mL" if volume is None else f"{volume:g} mL"


def _state(picture: Picture, times: Times) -> str:
    """The phase and since when; of a unit that runs also how fast and how much is in."""
    episode, infusion = picture.episode, picture.infusion
    since = _since(picture)
    word = "at" if episode.phase is Phase.ENDED else "since"
    said = PHASE[episode.phase] + ("" if since is None else f" {word} {times.short(since)}")
    if episode.phase not in (Phase.RUNNING, Phase.PAUSED):
        return said
    rate = f"{infusion.rate_ml_h:g} mL/h" if infusion.rate_ml_h else "rate 0 or not known"
    return f"{said}, {rate}, {infusion.given_ml:.0f} mL in at {times.short(times.now)}"


def _since(picture: Picture) -> datetime | None:
    episode = picture.episode
    return {
        Phase.AVAILABLE: episode.available_at,
        Phase.ISSUED: episode.issued_at,
        Phase.RUNNING: episode.started_at,
        Phase.PAUSED: picture.infusion.since_at,
        Phase.ENDED: episode.ended_at,
    }.get(episode.phase)


def _alerts(picture: Picture, times: Times) -> Iterator[str]:
    episode, limit = picture.episode, picture.standing.finish_limit_at
    if episode.reaction_at is not None:
        yield f"Suspected reaction since {times.short(episode.reaction_at)}, not closed"
    if picture.standing.held_by is not None:
        yield "Reaction suspected with another unit of this patient"
    for warning in episode.open_warnings:
        yield f"Identity error found in bed {warning.bed}: not yet checked"
    if episode.ended_at is None and limit is not None and limit < times.now:
        yield "Past its finish limit"


def _times(picture: Picture, times: Times) -> Iterator[Pair]:
    """The limits with date and ward time; of a unit that waits, when it is called for."""
    episode, planned = picture.episode, picture.standing.planned
    if episode.started_at is None:
        if episode.issued_at is None:
            call = None if planned is None else planned.call_at
            yield "Call for it (planned)", BLANK if call is None else times.dated(call)
        out = episode.removed_at or episode.issued_at
        yield "Out of storage", BLANK if out is None else times.dated(out)
        yield "Start by", _limit(picture, ClockName.START, times)
        yield "Send back by", _limit(picture, ClockName.RETURN, times)
    else:
        yield "Started", times.dated(episode.started_at)
    if episode.ended_at is not None:
        yield "Ended", times.dated(episode.ended_at)
        yield "Fate by", _limit(picture, ClockName.FATE, times)
    else:
        limit = picture.standing.finish_limit_at
        yield "Finish by", BLANK if limit is None else times.dated(limit)


def _limit(picture: Picture, name: ClockName, times: Times) -> str:
    limits = [clock.limit_at for clock, _ in picture.clocks if clock.name is name]
    known = [limit for limit in limits if limit is not None]
    return times.dated(known[0]) if known else BLANK
