"""The words on the screen for the words of the trade, and how times are spoken.

Times are shown in the ward's zone; minutes are counted between the minutes a clock on the wall
would show, so that "14:20, 6 min ago" is right when it is 14:26.
"""

from datetime import date, datetime, timedelta, tzinfo
from typing import Final

from server.domain.words import ClockName, Component, Level, Phase, Recipient

COMPONENT: Final[dict[Component, str]] = {
    Component.RED_CELLS: "Red cells",
    Component.PLATELETS: "Platelets",
    Component.PLASMA: "Plasma",
    Component.CRYOPRECIPITATE: "Cryoprecipitate",
    Component.GRANULOCYTES: "Granulocytes",
    Component.WHOLE_BLOOD: "Whole blood",
}

LEVEL: Final[dict[Level, str]] = {
    Level.REACTION: "Reaction",
    Level.PAST_LIMIT: "Past limit",
    Level.OVERDUE: "Overdue",
    Level.AT_RISK: "At risk",
    Level.DUE: "Due",
    Level.SOON: "Soon",
    Level.STEADY: "Steady",
    Level.WAITING: "Waiting",
    Level.CLOSED: "Closed",
}

CLOCK: Final[dict[ClockName, str]] = {
    ClockName.START: "Start",
    ClockName.RETURN: "Return to stock",
    ClockName.FINISH: "Finish",
    ClockName.BASELINE_CHECK: "Baseline observations",
    ClockName.FIRST_CHECK: "First check",
    ClockName.RUNNING_CHECK: "Running check",
    ClockName.REACTION_CHECK: "Reaction check",
    ClockName.END_CHECK: "End observations",
    ClockName.SET_CHANGE: "Giving set change",
    ClockName.LATE_WATCH: "Late watch",
    ClockName.FATE: "Fate of the bag",
}

ACTION: Final[dict[ClockName, str]] = {
    ClockName.START: "Start, or send back",
    ClockName.RETURN: "Start, or send back",
    ClockName.FINISH: "End the unit",
    ClockName.BASELINE_CHECK: "Baseline observations",
    ClockName.FIRST_CHECK: "First check: observations",
    ClockName.RUNNING_CHECK: "Observations",
    ClockName.REACTION_CHECK: "Observations: suspected reaction",
    ClockName.END_CHECK: "End observations",
    ClockName.SET_CHANGE: "Change the giving set",
    ClockName.LATE_WATCH: "Watch for late signs",
    ClockName.FATE: "Record the fate of the bag",
}

PHASE: Final[dict[Phase, str]] = {
    Phase.REQUESTED: "Requested",
    Phase.AVAILABLE: "Ready at the blood bank",
    Phase.ISSUED: "Issued",
    Phase.RUNNING: "Running",
    Phase.PAUSED: "Paused",
    Phase.ENDED: "Ended",
    Phase.CLOSED: "Closed",
    Phase.RETURNED: "Returned",
    Phase.DISCARDED: "Discarded",
    Phase.CANCELLED: "Cancelled",
}

RECIPIENT: Final[dict[Recipient, str]] = {
    Recipient.UNIT_NURSE: "the nurse of the unit, or whoever covers",
    Recipient.CHARGE_NURSE: "the charge nurse on duty",
    Recipient.MANAGER: "a manager of the ward",
    Recipient.NEXT_CONTACT: "the next contact of the ward",
}


_FAR: Final = timedelta(hours=12)


def clock_text(name: ClockName, n: int) -> str:
    """Answer what a clock is called, numbered where several of a name follow each other."""
    return CLOCK[name] if n == 1 else f"{CLOCK[name]} {n}"


def wall_time(instant: datetime, zone: tzinfo, now: datetime | None = None) -> str:
    """Answer the ward's wall time, `14:20`; seen from 12 h or more away with its day, `Wed 14:20`.

    Nearer than that a wall time can be read in one way only.
    """
    local = instant.astimezone(zone)
    far = now is not None and abs(instant - now) >= _FAR
    return f"{local:%a %H:%M}" if far else f"{local:%H:%M}"


def dated_time(instant: datetime, zone: tzinfo, now: datetime) -> str:
    """Answer the ward's wall time; from 12 h or more away with its date, `Wed 25 Nov 14:20`."""
    far = abs(instant - now) >= _FAR
    return stamp(instant, zone) if far else f"{instant.astimezone(zone):%H:%M}"


def stamp(instant: datetime, zone: tzinfo, *, year: bool = False) -> str:
    """Answer the ward's wall time with its date, `Wed 25 Nov 14:20`, or also with its year."""
    local = instant.astimezone(zone)
    month = f"{local:%b %Y}" if year else f"{local:%b}"
    return f"{local:%a} {local.day} {month} {local:%H:%M}"


def day_text(day: date) -> str:
    """Answer a day in words, `4 May 1961`."""
    return f"{day.day} {day:%B %Y}"


def whole_minutes(start: datetime, end: datetime) -> int:
    """Minutes from one wall-clock minute to another; negative when `end` is earlier."""
    return (_minute(end) - _minute(start)) // timedelta(minutes=1)


UNIT: Final[dict[str, str]] = {
    "pulse_per_min": "per min",
    "respirations_per_min": "per min",
    "systolic_mmhg": "mmHg",
    "diastolic_mmhg": "mmHg",
    "spo2_percent": "%",
}


def figure(sign: str, value: float, *, fahrenheit: bool) -> str:
    """Answer a sign, named by its field, with its unit: `112 per min`, `38.1 °C`."""
    if sign == "temperature_c":
        return temperature(value, fahrenheit=fahrenheit)
    return f"{value:g} {UNIT[sign]}"


def temperature(celsius: float, *, fahrenheit: bool) -> str:
    """Answer a temperature to a tenth of a degree, in °C or °F."""
    return f"{to_fahrenheit(celsius):.1f} °F" if fahrenheit else f"{celsius:.1f} °C"


def to_fahrenheit(celsius: float) -> float:
    """Answer a temperature in °F."""
    return celsius * 9 / 5 + 32


_HOUR: Final = 60
_DAY: Final = 24 * _HOUR


def span(minutes: int) -> str:
    """Answer a length of time as `7 min`, `2 h 05` or `3 d 4 h`."""
    size = abs(minutes)
    if size < _HOUR:
        return f"{size} min"
    if size < 2 * _DAY:
        return f"{size // _HOUR} h {size % _HOUR:02d}"
    return f"{size // _DAY} d {size % _DAY // _HOUR} h"


def ago(instant: datetime, now: datetime) -> str:
    """Answer how long ago an instant was."""
    minutes = whole_minutes(instant, now)
    return f"{span(minutes)} ago" if minutes > 0 else "just now"


def until(instant: datetime, now: datetime) -> str:
    """Answer how long it is until an instant."""
    minutes = whole_minutes(now, instant)
    return f"in {span(minutes)}" if minutes > 0 else "now"


def _minute(instant: datetime) -> datetime:
    return instant.replace(second=0, microsecond=0)
