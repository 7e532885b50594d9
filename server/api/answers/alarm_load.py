"""The load of reminders of a ward, as answered: counts, and nobody's name."""

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.alarm_load import AlarmLoad, Spread, Tally
from server.domain.words import ClockName, Stage
from server.services.read_alarm_load import WardLoad


class TallyAnswer(Given):
    """Reminders counted; `raised` is the sum of `useful` to `open`, `called` that but `quiet`."""

    raised: int
    called: int
    useful: int
    later: int
    ignored: int
    quiet: int
    met_before: int
    lapsed: int
    open: int
    acknowledged: int
    escalated: int


class GroupAnswer(TallyAnswer):
    """The reminders of one limit at one stage; `repeats` apart from the first of the stage."""

    clock: ClockName
    stage: Stage
    repeats: bool


class HourAnswer(TallyAnswer):
    """The reminders raised in one hour of the ward's day."""

    hour: int


class SpreadAnswer(Given):
    """How calls lie among several: how many those are, all calls, those of the middle one, most."""

    among: int
    total: int
    middle: float
    most: int


class ShiftLoadAnswer(SpreadAnswer):
    """Calls to a nurse in a shift, of all shifts that begin at one time of the ward's day."""

    begins: str


class LoadAnswer(Given):
    """The load of a period; an answer within `useful_minutes` and before the next stage is useful.

    `units` spreads the calls over the units that were live.
    """

    ward_id: str
    from_at: Moment
    to_at: Moment
    useful_minutes: int
    total: TallyAnswer
    groups: list[GroupAnswer]
    hours: list[HourAnswer]
    units: SpreadAnswer
    shifts: list[ShiftLoadAnswer]


def load_answer(found: WardLoad) -> LoadAnswer:
    """The load of a ward in a period."""
    load = found.load
    return LoadAnswer(
        ward_id=found.ward_id,
        from_at=found.period.from_at,
        to_at=found.period.until,
        useful_minutes=int(found.useful_within.total_seconds() // 60),
        total=TallyAnswer(**_tally(load.total)),
        groups=_groups(load),
        hours=[HourAnswer(hour=hour, **_tally(one)) for hour, one in enumerate(load.hours)],
        units=SpreadAnswer(**_spread(load.units)),
        shifts=[ShiftLoadAnswer(begins=one.begins, **_spread(one.spread)) for one in load.shifts],
    )


def _groups(load: AlarmLoad) -> list[GroupAnswer]:
    return [
        GroupAnswer(clock=one.clock, stage=one.stage, repeats=one.repeats, **_tally(one.tally))
        for one in load.groups
    ]


def _tally(tally: Tally) -> dict[str, int]:
    return {"raised": tally.raised, "called": tally.called, **tally._asdict()}


def _spread(spread: Spread) -> dict[str, int | float]:
    return spread._asdict()
