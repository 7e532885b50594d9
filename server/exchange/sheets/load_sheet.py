"""The load of reminders as a sheet: counted by limit, stage and hour; never by person."""

from collections.abc import Iterator
from typing import Final

from server.domain.alarm_load import Tally
from server.domain.wording import CLOCK
from server.domain.words import Stage
from server.exchange.sheets.common import Maker
from server.exchange.sheets.sheet import Cells, Column, Shape, Sheet
from server.services.read_alarm_load import WardLoad

BY: Final = {"all": "all", "clock": "limit", "stage": "stage", "hour": "hour of the ward’s day"}
_MEANING: Final = {
    "raised": "All that were raised: the next seven together",
    "useful": "Done, or taken by somebody, in time and before the next stage",
    "later": "The same before the next stage, though later",
    "ignored": "Neither done nor taken before the next stage came",
    "quiet": "Called nobody: somebody had it, or a later stage came in the same moment",
    "met_before": "Done before it was raised, and charted afterwards",
    "lapsed": "Nothing was owed any more",
    "open": "Calls still",
    "acknowledged": "Taken by somebody; counted once more among the others",
    "escalated": "Raised at a stage of escalation; counted once more among the others",
}
COLUMNS: Final = (
    Column("by", "Counted by", words=BY),
    Column("which", "Which"),
    *(
        Column(name, name.replace("_", " ").capitalize(), Shape.NUMBER, "reminders", note=note)
        for name, note in _MEANING.items()
    ),
)


def load_sheet(maker: Maker, found: WardLoad, only: tuple[str, ...]) -> Sheet:
    """The sheet of the reminders of a period."""
    minutes = int(found.useful_within.total_seconds() // 60)
    about = maker.about(
        "Reminders of the ward, and what came of them",
        only,
        ("In time", f"Within {minutes} min; local policy: reminders.useful_minutes"),
    )
    return Sheet("reminders", about, COLUMNS, _rows(found))


def _rows(found: WardLoad) -> Iterator[Cells]:
    load = found.load
    yield _row("all", None, load.total)
    for clock in CLOCK:
        if clock in load.by_clock:
            yield _row("clock", clock.value, load.by_clock[clock])
    for (stage, is_repeat), tally in sorted(load.by_stage.items(), key=_order):
        yield _row("stage", f"{stage.value} repeated" if is_repeat else stage.value, tally)
    for hour, tally in enumerate(load.hours):
        yield _row("hour", f"{hour:02d}:00", tally)


def _order(counted: tuple[tuple[Stage, bool], Tally]) -> tuple[int, bool]:
    (stage, is_repeat), _ = counted
    return (list(Stage).index(stage), is_repeat)


def _row(by: str, which: str | None, tally: Tally) -> Cells:
    return (by, which, *(getattr(tally, name) for name in _MEANING))
